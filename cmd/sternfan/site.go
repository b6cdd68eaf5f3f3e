package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"sternfan/web"
)

type siteCmd struct {
	Dir string `arg:"" help:"Folder for the files: a new or empty one, or one that holds an earlier site."`
}

// siteMark is a file of every site, by which an earlier one is known.
const siteMark = "sternfan-site.txt"

// Run writes the app as plain files.
func (c *siteCmd) Run(ctx context.Context, w *world) error {
	files, err := web.BuiltFiles()
	if err != nil {
		return err
	}
	return writeSite(ctx, w, files, c.Dir)
}

func writeSite(ctx context.Context, w *world, files *web.Files, dir string) error {
	there, err := os.ReadDir(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return &usageError{fmt.Sprintf("%s cannot be written to: %s", dir, cause(err)), "name a folder"}
	case len(there) > 0 && !slices.ContainsFunc(there, func(e fs.DirEntry) bool { return e.Name() == siteMark }):
		return &usageError{dir + " holds other files", "name a new or empty folder"}
	}
	put := func(name string, data []byte) error {
		target := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(target), 0o777); err != nil {
			return fmt.Errorf("the folder of %s cannot be made: %w", target, cause(err))
		}
		if err := w.write(target, data); err != nil {
			return fmt.Errorf("%s cannot be written: %w", target, cause(err))
		}
		return nil
	}
	// The mark first: what an interrupted run leaves can be written over.
	if err := put(siteMark, []byte("The sternfan app, "+w.version+", as plain files. Put all of them on any HTTPS address.\n")); err != nil {
		return err
	}
	total := int64(0)
	for _, f := range files.All() {
		if err := ctx.Err(); err != nil {
			return err
		}
		data, err := files.Read(f.Name)
		if err != nil {
			return err
		}
		if err := put(f.Name, data); err != nil {
			return err
		}
		total += f.Size
	}
	_, err = fmt.Fprintf(w.stdout, "%d files, %.1f MB, are in %s. Put them on any HTTPS address: phones can install the app from there.\n",
		len(files.All())+1, float64(total)/1e6, dir)
	return err
}
