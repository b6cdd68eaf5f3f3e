//go:build core

package engine

import (
	"errors"

	"sternfan/scenario"
)

// read refuses: the engine that a phone loads first is without the reader of profiles.
func (*ProfileAsk) read() (*scenario.Profile, error) {
	return nil, &BadAsk{errors.New("the whole engine reads profiles")}
}
