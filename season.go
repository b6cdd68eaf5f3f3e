package sternfan

// Season is where trips fished and what struck there, for a map.
type Season struct {
	From     string         `json:"from"` // days: "2026-06-03"
	To       string         `json:"to"`
	Trips    int            `json:"trips"`
	Cell     float64        `json:"cell_m"` // side of the squares
	Cells    []SeasonCell   `json:"cells"`  // in which somebody fished
	Strikes  []SeasonStrike `json:"strikes"`
	RodHours float64        `json:"rod_hours"` // of which the place is known
	Unplaced float64        `json:"unplaced_rod_hours"`
	Without  int            `json:"strikes_without_place"`
}

// SeasonCell is a square of the lake, north up.
type SeasonCell struct {
	Middle   Place   `json:"middle"`
	RodHours float64 `json:"rod_hours"`
	Strikes  int     `json:"strikes"`
}

// SeasonStrike is a strike with its place.
type SeasonStrike struct {
	Place
	Day     string `json:"day"`
	Rod     string `json:"rod"`
	Species string `json:"species,omitempty"`
	Landed  bool   `json:"landed"`
}

// Place is a position on the earth, WGS 84. For the log, not for navigation.
type Place struct {
	Lat float64 `json:"lat"` // degrees, north positive
	Lon float64 `json:"lon"` // degrees, east positive
}
