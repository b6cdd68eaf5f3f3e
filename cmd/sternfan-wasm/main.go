//go:build js && wasm

// Command sternfan-wasm is the core for a web page: it gives the page the object
// sternfan with one function, run(request) -> answer, both JSON text.
package main

import (
	"context"
	"syscall/js"
)

func main() {
	run := js.FuncOf(func(_ js.Value, args []js.Value) any {
		if len(args) != 1 || args[0].Type() != js.TypeString {
			return string(failed("sternfan.run takes one text: the request as JSON"))
		}
		return string(handle(context.Background(), []byte(args[0].String())))
	})
	js.Global().Set("sternfan", js.ValueOf(map[string]any{"run": run}))
	select {} // the page calls in from here on
}
