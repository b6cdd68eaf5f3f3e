// Command sternfan works out where every lure of a trolling spread runs.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
	"time"

	"golang.org/x/term"
)

// version is set when a release is built.
var version = "dev"

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, os.Args[1:], &world{
		stdin:    os.Stdin,
		stdout:   os.Stdout,
		stderr:   os.Stderr,
		terminal: isTerminal(os.Stdout),
		columns:  columns(os.Stdout),
		open:     openFile,
		write:    writeFile,
		version:  version,
		now:      time.Now,
	})
	stop()
	os.Exit(code)
}

func isTerminal(f *os.File) bool {
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}

// columns returns how wide the screen at f is, or 0 when f is none.
func columns(f *os.File) int {
	wide, _, err := term.GetSize(int(f.Fd()))
	if err != nil {
		return 0
	}
	return wide
}
