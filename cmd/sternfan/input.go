package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
)

// maxBytes is the largest scenario file that is read. A boat with every rod and a full
// tackle box is well under a tenth of it.
const maxBytes = 1 << 20

// stdinName stands for standard input on the command line.
const stdinName = "-"

func openFile(path string) (io.ReadCloser, error) { return os.Open(path) }

// readInput returns the text of a file and the name it goes by in faults. It reads no
// more than one byte over the limit, so that the decoder sees that there was more.
func readInput(ctx context.Context, w *world, path string, limit int64) (data []byte, name string, err error) {
	if path == stdinName {
		data, err = readLimited(ctx, w.stdin, limit)
		return data, "standard input", err
	}
	f, err := w.open(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, path, errors.Join(&usageError{fmt.Sprintf("there is no file %s", path),
			"check the spelling and the folder; the files in examples/ are ready to run"}, err)
	case err != nil:
		return nil, path, fmt.Errorf("%s cannot be opened: %w", path, cause(err))
	}
	defer f.Close()
	data, err = readLimited(ctx, f, limit)
	if err != nil && !errors.Is(err, context.Canceled) {
		err = fmt.Errorf("%s cannot be read: %w", path, cause(err))
	}
	return data, path, err
}

// readLimited reads up to the limit and one byte. It returns when the context ends, also
// while the other side of a pipe says nothing.
func readLimited(ctx context.Context, r io.Reader, limit int64) ([]byte, error) {
	type result struct {
		data []byte
		err  error
	}
	done := make(chan result, 1)
	go func() {
		data, err := io.ReadAll(io.LimitReader(r, limit+1))
		done <- result{data, err}
	}()
	select {
	case <-ctx.Done():
		return nil, ctx.Err()
	case got := <-done:
		return got.data, got.err
	}
}

// cause drops the operation and path that a file error repeats.
func cause(err error) error {
	var pathErr *fs.PathError
	if errors.As(err, &pathErr) {
		return pathErr.Err
	}
	return err
}
