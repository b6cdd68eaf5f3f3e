package main

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"time"

	"sternfan/logbook"
	"sternfan/web"

	"github.com/skip2/go-qrcode"
)

type serveCmd struct {
	File string `arg:"" optional:"" name:"file" help:"A scenario file to open in the app; the app follows it as it changes."`
	Port int    `default:"4157" help:"Port to listen at; 0 takes any that is free."`
	Lan  bool   `help:"Let other machines on the boat's network in, once each has entered the code that is shown."`
	Open bool   `help:"Open the app in this machine's browser."`
	App  string `hidden:"" placeholder:"FOLDER" help:"Serve the app from this folder, as internal/pack leaves it, in place of the one built in."`
	Log  string `env:"STERNFAN_LOG" placeholder:"FILE" help:"Keep the trip log of the app and its phones in this file, made when it is not there. Also STERNFAN_LOG."`
}

// Run serves the app until it is interrupted.
func (c *serveCmd) Run(ctx context.Context, w *world) error {
	if c.Log == "" {
		return c.serve(ctx, w, nil)
	}
	return (&logFlags{c.Log}).use(ctx, logbook.Options{}, func(l *logbook.Log) error { return c.serve(ctx, w, l) })
}

func (c *serveCmd) serve(ctx context.Context, w *world, log *logbook.Log) error {
	files, err := c.files()
	if err != nil && !errors.Is(err, web.ErrNotBuilt) {
		return err
	}
	opt := web.Options{Files: files, Version: w.version, Log: log}
	host := "127.0.0.1"
	if c.Lan {
		host = ""
		opt.Hosts, opt.Code = addresses(), web.NewCode()
		if opt.Key, err = pairKey(); err != nil {
			return err
		}
		if len(opt.Hosts) == 0 {
			return errors.New("this machine is on no network that others could reach it by; join one, or leave out --lan")
		}
	}
	text, err := c.read(ctx, w)
	if err != nil {
		return err
	}
	l, err := net.Listen("tcp", net.JoinHostPort(host, strconv.Itoa(c.Port)))
	if err != nil {
		return fmt.Errorf("port %d cannot be listened at: %w; is another sternfan serving? choose another with --port", c.Port, cause(err))
	}
	port := strconv.Itoa(l.Addr().(*net.TCPAddr).Port)
	here := "http://" + net.JoinHostPort("127.0.0.1", port) + "/"
	server := web.New(opt)
	if c.File != "" {
		server.Share(c.File, text)
		go c.follow(ctx, w, server, text)
	}
	if files == nil {
		say(w.stderr, "%s", web.ErrNotBuilt)
	}
	if err := announce(w.stdout, here, port, opt, c.Lan); err != nil {
		return errors.Join(err, l.Close())
	}
	if c.Open {
		if err := openBrowser(here); err != nil {
			say(w.stderr, "no browser could be opened (%s); open %s yourself", err, here)
		}
	}
	return server.Serve(ctx, l)
}

func (c *serveCmd) files() (*web.Files, error) {
	if c.App == "" {
		return web.BuiltFiles()
	}
	return web.OpenFiles(os.DirFS(c.App))
}

// announce says where the app is, and to phones how to get in.
func announce(out io.Writer, here, port string, opt web.Options, lan bool) error {
	text := "The app is at " + here + "\n"
	if lan {
		there := "http://" + net.JoinHostPort(opt.Hosts[0], port) + "/"
		code, err := qrcode.New(there, qrcode.Low)
		if err != nil {
			return err
		}
		text += "For phones on this network: " + there + "\n"
		for _, more := range opt.Hosts[1:] {
			text += "                        or: http://" + net.JoinHostPort(more, port) + "/\n"
		}
		text += code.ToSmallString(false) + "Pairing code, once for each phone: " + opt.Code + "\n" +
			"A phone can use the app from here while this runs. To install it there for use without a signal, put the files of\n" +
			"sternfan site on an HTTPS address: browsers install from nowhere else.\n"
	}
	if opt.Log != nil {
		text += "The trip log is kept in " + opt.Log.Path() + "\n"
	}
	_, err := io.WriteString(out, text+"Stop with Ctrl-C. Not for navigation.\n")
	return err
}

func (c *serveCmd) read(ctx context.Context, w *world) (string, error) {
	if c.File == "" {
		return "", nil
	}
	if c.File == stdinName {
		return "", &usageError{"the app cannot follow standard input", "name a file"}
	}
	data, _, err := readInput(ctx, w, c.File, maxBytes)
	return string(data), err
}

// follow hands the file to the app whenever its text changes. A file that is away for a
// moment, as while an editor saves it, stays as it was.
func (c *serveCmd) follow(ctx context.Context, w *world, server *web.Server, text string) {
	tick := time.NewTicker(time.Second)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		data, _, err := readInput(ctx, w, c.File, maxBytes)
		if err == nil && len(data) <= maxBytes && string(data) != text {
			text = string(data)
			server.Share(c.File, text)
		}
	}
}

// addresses returns this machine's addresses on local networks, IPv4 first.
func addresses() []string {
	all, err := net.InterfaceAddrs()
	if err != nil {
		return nil
	}
	var four, six []string
	for _, a := range all {
		n, ok := a.(*net.IPNet)
		if !ok || n.IP.IsLoopback() || n.IP.IsLinkLocalUnicast() || n.IP.IsMulticast() {
			continue
		}
		if n.IP.To4() != nil {
			four = append(four, n.IP.String())
		} else {
			six = append(six, n.IP.String())
		}
	}
	return slices.Concat(four, six)
}

// pairKey returns the key that signs the cookies of paired phones: made once and kept
// where this user's settings are, so that a phone stays paired.
func pairKey() ([]byte, error) {
	dir, err := os.UserConfigDir()
	if err != nil {
		return nil, fmt.Errorf("there is no place to keep the pairing key: %w", err)
	}
	name := filepath.Join(dir, "sternfan", "pair.key")
	key, err := os.ReadFile(name)
	if err == nil && len(key) == 32 {
		return key, nil
	}
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s cannot be read: %w", name, cause(err))
	}
	key = make([]byte, 32)
	_, _ = rand.Read(key) // never fails
	if err := os.MkdirAll(filepath.Dir(name), 0o700); err != nil {
		return nil, fmt.Errorf("the pairing key cannot be kept: %w", err)
	}
	if err := os.WriteFile(name, key, 0o600); err != nil {
		return nil, fmt.Errorf("the pairing key cannot be kept: %w", err)
	}
	return key, nil
}

// openBrowser opens an address the way the system does.
func openBrowser(address string) error {
	name, args := "xdg-open", []string{address}
	switch runtime.GOOS {
	case "darwin":
		name = "open"
	case "windows":
		name, args = "rundll32", []string{"url.dll,FileProtocolHandler", address}
	}
	c := exec.Command(name, args...)
	if err := c.Start(); err != nil {
		return err
	}
	go func() { _ = c.Wait() }() // its end concerns nobody
	return nil
}
