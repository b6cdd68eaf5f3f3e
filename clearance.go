package sternfan

// Gap is how near two parties of the spread come to each other, in the measure of the
// margins: see package spread. A party is a rod or a device by its id, or a part of the
// boat: see [PartOfBoat].
type Gap struct {
	A          string     `json:"a"`
	B          string     `json:"b"`
	PartA      string     `json:"part_a,omitempty"`
	PartB      string     `json:"part_b,omitempty"`
	Distance   float64    `json:"distance_m"`   // between the two places
	Horizontal float64    `json:"horizontal_m"` // its parts
	Vertical   float64    `json:"vertical_m"`
	AtA        [3]float64 `json:"at_a"` // the places, boat frame, m
	AtB        [3]float64 `json:"at_b"`
	Wide       float64    `json:"margin_horizontal_m"` // the margins that hold there
	High       float64    `json:"margin_vertical_m"`   // grown by the intervals
	Ratio      float64    `json:"ratio"`               // below 1: inside the margin
}
