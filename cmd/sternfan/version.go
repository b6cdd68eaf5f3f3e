package main

import (
	"fmt"
	"runtime"
)

type versionCmd struct{}

func (*versionCmd) Run(w *world) error {
	_, err := fmt.Fprintf(w.stdout, "sternfan %s (%s, %s/%s)\n", w.version, runtime.Version(), runtime.GOOS, runtime.GOARCH)
	return err
}
