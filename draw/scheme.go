package draw

import (
	"image/color"
	"slices"
)

// Scheme is a set of colors for the light that a picture is looked at in.
type Scheme string

// The schemes.
const (
	Day   Scheme = "day"   // dark ink on paper; port red, starboard green
	Dusk  Scheme = "dusk"  // light ink on slate
	Night Scheme = "night" // dim red on black, for eyes that must see in the dark
	Print Scheme = "print" // black on white, for any printer
)

// Schemes are all schemes, in the order of a day.
var Schemes = []Scheme{Day, Dusk, Night, Print}

// inks are a scheme's colors.
type inks struct {
	paper, water, bottom, hull, frame, grid, surface color.RGBA
	panel                                            color.RGBA // behind every other row of a page
	text, quiet                                      color.RGBA // quiet: ticks, notes
	port, starboard, middle, temperature, context    color.RGBA
}

func rgb(hex uint32) color.RGBA {
	return color.RGBA{R: uint8(hex >> 16), G: uint8(hex >> 8), B: uint8(hex), A: 255}
}

// Text colors hold a contrast of 7:1 against paper, water and bottom by day, dusk and in
// print. By night they cannot: red alone on black ends at 5.4:1 (WCAG 2.2 relative
// luminance with green and blue at a tenth), so text there holds 4.5:1.
var schemes = map[Scheme]inks{
	Day: {
		paper: rgb(0xfdfcf9), water: rgb(0xf2f7fa), bottom: rgb(0xe9e1d0), hull: rgb(0xe4e6e8), frame: rgb(0x8b979f), grid: rgb(0xdbe3e8), surface: rgb(0x4d7f9c), panel: rgb(0xeef0ee),
		text: rgb(0x17212a), quiet: rgb(0x36434d),
		port: rgb(0x96001a), starboard: rgb(0x004d29), middle: rgb(0x26345c), temperature: rgb(0x7a3d00), context: rgb(0x9aa4ab),
	},
	Dusk: {
		paper: rgb(0x12171c), water: rgb(0x161d24), bottom: rgb(0x2a261f), hull: rgb(0x2c343b), frame: rgb(0x5c6871), grid: rgb(0x26303a), surface: rgb(0x5f93b0), panel: rgb(0x1b2229),
		text: rgb(0xf0ebdf), quiet: rgb(0xc3c8cb),
		port: rgb(0xff9d94), starboard: rgb(0x6fdfa0), middle: rgb(0xc5d0ff), temperature: rgb(0xf0b878), context: rgb(0x66727b),
	},
	Night: {
		paper: rgb(0x000000), water: rgb(0x000000), bottom: rgb(0x1a0000), hull: rgb(0x2a0202), frame: rgb(0x5a0505), grid: rgb(0x3a0404), surface: rgb(0x7a0808), panel: rgb(0x0b0000),
		text: rgb(0xf01818), quiet: rgb(0xe81818),
		port: rgb(0xe81818), starboard: rgb(0xe81818), middle: rgb(0xe81818), temperature: rgb(0xe81818), context: rgb(0x600606),
	},
	Print: {
		paper: rgb(0xffffff), water: rgb(0xffffff), bottom: rgb(0xe6e6e6), hull: rgb(0xededed), frame: rgb(0x555555), grid: rgb(0xd9d9d9), surface: rgb(0x333333), panel: rgb(0xf0f0f0),
		text: rgb(0x000000), quiet: rgb(0x222222),
		port: rgb(0x000000), starboard: rgb(0x000000), middle: rgb(0x000000), temperature: rgb(0x222222), context: rgb(0x8a8a8a),
	},
}

// classes are the words of a shape's class.
type classes []string

func (c classes) has(word string) bool { return slices.Contains(c, word) }

func (c classes) color(k *inks) color.RGBA {
	switch {
	case c.has("context"):
		return k.context
	case c.has("port"):
		return k.port
	case c.has("starboard"):
		return k.starboard
	case c.has("middle"):
		return k.middle
	case c.has("temperature"):
		return k.temperature
	case c.has("surface"):
		return k.surface
	case c.has("hull"), c.has("rule"):
		return k.frame
	}
	return k.text
}

// width returns a line's width in mm.
func (c classes) width() float64 {
	switch {
	case c.has("path"):
		return 0.4
	case c.has("line"):
		return 0.3
	case c.has("leader"), c.has("cable"):
		return 0.2
	case c.has("rule"):
		return 0.3
	case c.has("temperature"):
		return 0.35
	}
	return 0.25
}

// dash tells starboard and middle from port, whose lines are full.
func (c classes) dash() []float64 {
	switch {
	case c.has("cable"):
		return []float64{0.8, 0.7}
	case c.has("starboard"):
		return []float64{1.8, 0.9}
	case c.has("middle"):
		return []float64{3.4, 0.8, 0.5, 0.8}
	}
	return nil
}
