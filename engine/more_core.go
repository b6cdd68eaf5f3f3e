//go:build core

package engine

func more() []Op { return nil }
