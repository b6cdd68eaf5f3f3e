//go:build core

package engine

func more() []Op { return nil }

// logged is the log that was read last: nothing, here. Naming its type would link what
// reads events.
type logged struct{}
