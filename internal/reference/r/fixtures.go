// Package r holds rates, ratios and their intervals computed by R, written by generate.R.
// README.md in this folder says what each file holds.
package r

import (
	"bytes"
	"embed"
	"encoding/csv"
	"fmt"
	"strconv"
)

//go:embed *.csv
var files embed.FS

// Row is one row of a file by the names of its columns.
type Row map[string]string

// Number returns a numeric cell; it panics when there is none, since the files are the
// project's own.
func (r Row) Number(name string) float64 {
	v, err := strconv.ParseFloat(r[name], 64)
	if err != nil {
		panic(fmt.Sprintf("r: column %s: %v", name, err))
	}
	return v
}

// Read returns the rows of a file, named without its ending.
func Read(name string) []Row {
	text, err := files.ReadFile(name + ".csv")
	if err != nil {
		panic("r: " + err.Error())
	}
	records, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	if err != nil || len(records) < 2 {
		panic(fmt.Sprintf("r: %s.csv: %v", name, err))
	}
	var out []Row
	for _, record := range records[1:] {
		row := Row{}
		for i, cell := range record {
			row[records[0][i]] = cell
		}
		out = append(out, row)
	}
	return out
}
