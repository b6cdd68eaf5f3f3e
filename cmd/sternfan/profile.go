package main

import (
	"context"
	"errors"
	"path/filepath"
	"strings"

	"sternfan"
	"sternfan/scenario"
)

// profile fills the water's temperature from the file that the flag or the scenario
// names. The scenario's is beside the scenario itself.
func (f *fileFlags) profile(ctx context.Context, w *world, sc *sternfan.Scenario, src *scenario.Source) error {
	path, flag := f.Profile, f.Profile != ""
	switch {
	case flag && path == stdinName && f.File == stdinName:
		return &usageError{"standard input cannot be both the scenario and its profile", "give one of them as a file"}
	case !flag && sc.Water.Profile == "":
		return nil
	case !flag:
		path = filepath.FromSlash(sc.Water.Profile)
		if f.File != stdinName {
			path = filepath.Join(filepath.Dir(f.File), path)
		}
	}
	data, name, err := readInput(ctx, w, path, scenario.MaxProfileBytes)
	var usage *usageError
	if errors.As(err, &usage) && !flag {
		faults := sternfan.Faults{{Code: "missing", Path: "water.profile", Text: "the profile's file is not there", Found: path, Hint: "it is looked for beside the scenario; or give --profile FILE"}}
		src.Fill(faults)
		return faults
	}
	if err != nil {
		return err
	}
	profile, err := scenario.DecodeProfile(name, data)
	if err != nil {
		return err
	}
	sc.Water.Temperature, sc.Water.Profile = profile.Points, ""
	sc.Water.Measured = strings.TrimSuffix(filepath.Base(name)+", "+profile.Measured, ", ")
	return nil
}
