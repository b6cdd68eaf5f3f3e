//go:build js && wasm

// Command sternfan-wasm is the engine for the app's worker. It gives the global object
// sternfan two functions, both taking an operation of package engine and its request as
// JSON text:
//
//	now(op, ask) -> {json, points?}
//	call(op, ask, progress?, signal?) -> Promise of {json, points?}
//
// json is the reply's text; points, where the answer has any, is a Float32Array with the
// curves' points. call hands progress the JSON of each step and lets the page run in
// between; once signal.aborted it ends early. One engine answers one request at a time:
// a call waits for the one before it, and now is for when none is waiting.
package main

import (
	"context"
	"math"
	"runtime/debug"
	"sync"
	"syscall/js"
	"time"

	"sternfan/engine"
)

// breath is how long an operation runs before it lets the page in.
const breath = 30 * time.Millisecond

var (
	worker engine.Engine
	turn   sync.Mutex // who asks the engine
)

// garbage is how much the heap may grow, in percent, before it is looked through: a few
// megabytes more for a fifth less work.
const garbage = 400

func main() {
	debug.SetGCPercent(garbage)
	js.Global().Set("sternfan", js.ValueOf(map[string]any{
		"now":  js.FuncOf(now),
		"call": js.FuncOf(call),
	}))
	select {} // the page calls in from here on
}

func now(_ js.Value, args []js.Value) any {
	op, ask, ok := request(args)
	if !ok {
		return answer(nil, errText)
	}
	if !turn.TryLock() {
		return answer(nil, errBusy)
	}
	defer turn.Unlock()
	return do(context.Background(), op, ask, nil)
}

func call(_ js.Value, args []js.Value) any {
	var executor js.Func
	executor = js.FuncOf(func(_ js.Value, settle []js.Value) any {
		executor.Release()
		go func() { settle[0].Invoke(perform(args)) }()
		return nil
	})
	return js.Global().Get("Promise").New(executor)
}

func perform(args []js.Value) any {
	op, ask, ok := request(args)
	if !ok {
		return answer(nil, errText)
	}
	turn.Lock()
	defer turn.Unlock()
	ctx := &breathing{last: time.Now()}
	ctx.Context, ctx.cancel = context.WithCancel(context.Background())
	defer ctx.cancel()
	if len(args) > 3 && args[3].Type() == js.TypeObject {
		ctx.signal = args[3]
	}
	told := time.Now()
	return do(ctx, op, ask, func(p engine.Progress) {
		ctx.breathe()
		if time.Since(told) < breath {
			return
		}
		told = time.Now()
		if len(args) > 2 && args[2].Type() == js.TypeFunction {
			args[2].Invoke(string(engine.MarshalProgress(p)))
		}
	})
}

// do answers a request. A fault of the program's own ends that request, not the engine,
// which forgets what it remembered.
func do(ctx context.Context, op string, ask []byte, tell func(engine.Progress)) (out any) {
	defer func() {
		if fault := recover(); fault != nil {
			text := "the engine met a fault of its own"
			if err, ok := fault.(error); ok {
				text += ": " + err.Error()
			} else if s, ok := fault.(string); ok {
				text += ": " + s
			}
			worker = engine.Engine{}
			out = answer(nil, usage(text))
		}
	}()
	return answer(worker.Do(ctx, op, ask, tell))
}

// breathing is a context that lets the page in whenever work asks whether it has ended, and
// so learns that the page has ended it: nothing else runs while Go does.
type breathing struct {
	context.Context
	cancel context.CancelFunc
	signal js.Value // of the page; undefined: none
	last   time.Time
}

func (b *breathing) Err() error {
	b.breathe()
	return b.Context.Err()
}

func (b *breathing) breathe() {
	if time.Since(b.last) < breath {
		return
	}
	time.Sleep(time.Millisecond) // lets the page's messages in
	if b.signal.Type() == js.TypeObject && b.signal.Get("aborted").Truthy() {
		b.cancel()
	}
	b.last = time.Now()
}

type usage string

func (u usage) Error() string { return string(u) }

const (
	errText = usage("an operation and its request are two texts")
	errBusy = usage("the engine is at work on another request")
)

func request(args []js.Value) (op string, ask []byte, ok bool) {
	if len(args) < 2 || args[0].Type() != js.TypeString || args[1].Type() != js.TypeString {
		return "", nil, false
	}
	return args[0].String(), []byte(args[1].String()), true
}

// answer makes the object that the page gets.
func answer(result any, err error) any {
	out := map[string]any{}
	if err == nil {
		if points := engine.TakePoints(result); len(points) > 0 {
			out["points"] = floats(points)
		}
	}
	out["json"] = string(engine.Encode(result, err))
	return js.ValueOf(out)
}

// floats returns a Float32Array of its own.
func floats(v []float32) js.Value {
	raw := make([]byte, 4*len(v))
	for i, x := range v {
		bits := math.Float32bits(x)
		raw[4*i], raw[4*i+1], raw[4*i+2], raw[4*i+3] = byte(bits), byte(bits>>8), byte(bits>>16), byte(bits>>24)
	}
	array := js.Global().Get("Uint8Array").New(len(raw))
	js.CopyBytesToJS(array, raw)
	return js.Global().Get("Float32Array").New(array.Get("buffer"))
}
