//go:build js || core

package engine

func native() []Op { return nil }
