//go:build core

package api

func more() []Op { return nil }
