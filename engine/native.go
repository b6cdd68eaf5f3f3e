//go:build !js && !core

package engine

import (
	"sternfan/scenario"
)

// native returns the operations that nobody asks in a browser: what a whole log says, and
// what measurements say of a boat. They are linked into no engine there.
func native() []Op {
	return []Op{
		op("rates", "Strikes per rod-hour for any attribute, compared with the hour held equal.", (*Engine).Rates),
		op("plan", "A fair test: which rod carries which, and how long until it can tell.", (*Engine).Plan),
		op("fired", "What the last strikes share against what was in the water.", (*Engine).Fired),
		long("depth", "The boat's own numbers from what was measured, and its file with them.", (*Engine).Depth),
		op("calibrations", "A file's calibrations: listed, taken out again, or switched.", (*Engine).Calibrations),
		op("schema", "The JSON Schema of the scenario file.", (*Engine).Schema),
	}
}

// Schema writes the JSON Schema of the scenario file.
func (e *Engine) Schema(*Call, *Nothing) (*FileText, error) {
	text, err := scenario.Schema()
	return &FileText{string(text)}, err
}
