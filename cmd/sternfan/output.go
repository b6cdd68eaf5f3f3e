package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"sternfan/unit"
)

// outFlags are the flags of a command that writes a result.
type outFlags struct {
	Out   string `short:"o" name:"out" placeholder:"OUT" help:"Write to this file instead of the screen. Its ending chooses the format."`
	Units string `enum:"us,si" default:"us" placeholder:"us|si" help:"Units a person sees: us (feet, mph, pounds) or si. JSON is always SI."`
}

// endings maps what a file name may end in to the format it means.
var endings = map[string]string{
	".txt": "table", ".yaml": "yaml", ".yml": "yaml", ".json": "json", ".csv": "csv", ".svg": "svg", ".pdf": "pdf", ".png": "png", ".html": "html",
}

// format returns the format that was asked for: by name, else by the output file's
// ending, else the first of those allowed.
func (o *outFlags) format(given string, allowed ...string) (string, error) {
	if given == "" && o.Out == "" {
		return allowed[0], nil
	}
	format := given
	if format == "" {
		ending := strings.ToLower(filepath.Ext(o.Out))
		if format = endings[ending]; format == "" || !slices.Contains(allowed, format) {
			return "", &usageError{fmt.Sprintf("the ending of %s does not say which format to write", o.Out),
				"give --format " + strings.Join(allowed, "|")}
		}
	}
	return format, nil
}

// binary holds the formats that are not text, pictures those that are drawn.
var (
	binary   = map[string]bool{"pdf": true, "png": true}
	pictures = map[string]bool{"svg": true, "pdf": true, "png": true}
)

func (o *outFlags) system() unit.System {
	if o.Units == "si" {
		return unit.SI
	}
	return unit.US
}

// ready refuses an output that could not be written, before any work is done.
func (o *outFlags) ready(w *world, format, input string) error {
	if o.Out != "" && sameFile(o.Out, input) {
		return &usageError{o.Out + " is the scenario itself, and would be lost", "name another file with -o"}
	}
	if o.Out == "" && w.terminal && binary[format] {
		return &usageError{strings.ToUpper(format) + " is not text and would garble the screen",
			"name a file: -o OUT." + format}
	}
	return nil
}

// columns returns the width for what a person reads: the screen's, if it goes there.
// A file or a pipe gets the same text on every machine.
func (o *outFlags) columns(w *world) int {
	if o.Out != "" {
		return 0
	}
	return w.columns
}

func sameFile(a, b string) bool {
	infoA, errA := os.Stat(a)
	infoB, errB := os.Stat(b)
	return errA == nil && errB == nil && os.SameFile(infoA, infoB)
}

// put writes a finished result where it was asked for.
func (o *outFlags) put(w *world, data []byte) error {
	if o.Out == "" {
		if _, err := w.stdout.Write(data); err != nil {
			return fmt.Errorf("the result cannot be written: %w", cause(err))
		}
		return nil
	}
	if err := w.write(o.Out, data); err != nil {
		hint := ""
		if errors.Is(err, fs.ErrNotExist) {
			hint = "; make its folder first"
		}
		return fmt.Errorf("%s cannot be written: %w%s", o.Out, cause(err), hint)
	}
	return nil
}

// writeFile writes the whole file or leaves what was there: to a new file in the same
// folder, which takes the name only when it is complete. A device or pipe is written to
// as it is.
func writeFile(path string, data []byte) error {
	if real, err := filepath.EvalSymlinks(path); err == nil {
		path = real
	}
	mode := fs.FileMode(0o666)
	switch info, err := os.Stat(path); {
	case err != nil:
	case info.IsDir():
		return errors.New("it is a folder")
	case !info.Mode().IsRegular():
		return writeThrough(path, data)
	default:
		mode = info.Mode().Perm()
	}
	part, err := createPart(path, mode)
	if err != nil {
		return err
	}
	_, err = part.Write(data)
	if err = errors.Join(err, part.Close()); err == nil {
		err = os.Rename(part.Name(), path)
	}
	if err != nil {
		return errors.Join(err, os.Remove(part.Name()))
	}
	return nil
}

func writeThrough(path string, data []byte) error {
	f, err := os.OpenFile(path, os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	return errors.Join(err, f.Close())
}

// createPart makes a new file beside path. Unlike os.CreateTemp it leaves the mode to
// the person's umask, since the file is theirs to share.
func createPart(path string, mode fs.FileMode) (*os.File, error) {
	const tries = 100
	for i := 0; ; i++ {
		f, err := os.OpenFile(fmt.Sprintf("%s.part%d", path, os.Getpid()+i), os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
		if err == nil || !errors.Is(err, fs.ErrExist) || i == tries {
			return f, err
		}
	}
}
