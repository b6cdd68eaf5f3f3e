//go:build !(js && wasm)

package main

import (
	"fmt"
	"os"
)

func main() {
	_, _ = fmt.Fprintln(os.Stderr, "sternfan-wasm: this is the core for a web page; build it with GOOS=js GOARCH=wasm")
	os.Exit(2)
}
