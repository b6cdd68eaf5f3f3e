package trip

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"sternfan"
)

// Seasons gathers trips for a map. The zero Seasons is empty.
type Seasons struct {
	out  sternfan.Season
	fine map[[2]int32]float64 // rod-hours by a fine grid of degrees
}

const (
	fineDegrees = 0.0005
	sampleMS    = 2 * 60_000
	// Between two places that were logged no further apart than this the boat is taken to
	// have gone straight; before the first and after the last it is taken to be there for
	// a while.
	longestLeg = 90 * 60_000
	nearby     = 15 * 60_000

	earthRadius = 6371008.8 // mean, m: IUGG
	mostCells   = 24        // across the longer way
)

// Add adds a trip: its effort along the places that were logged, and its strikes.
func (s *Seasons) Add(o *Outing) {
	if s.fine == nil {
		s.fine = map[[2]int32]float64{}
	}
	for i := range o.Stints {
		st := &o.Stints[i]
		for at := st.From; at < st.To; at += sampleMS {
			until := min(at+sampleMS, st.To)
			hours := float64(until-at) / 3600_000
			lat, lon, ok := placeAt(o.Way, (at+until)/2)
			if !ok {
				s.out.Unplaced += hours
				continue
			}
			s.out.RodHours += hours
			s.fine[[2]int32{int32(math.Floor(lat / fineDegrees)), int32(math.Floor(lon / fineDegrees))}] += hours
		}
	}
	for i := range o.Strikes {
		c := &o.Strikes[i]
		if c.Where == nil {
			s.out.Without++
			continue
		}
		s.out.Strikes = append(s.out.Strikes, sternfan.SeasonStrike{
			Place: *c.Where, Day: c.At.Time().Format("2006-01-02"), Rod: c.Rod, Species: c.Species, Landed: c.Outcome == WasLanded,
		})
	}
	s.out.Trips++
	if day := o.Day(); s.out.From == "" || day < s.out.From {
		s.out.From = day
	}
	s.out.To = max(s.out.To, o.Day())
}

// placeAt returns where the boat was.
func placeAt(way []Spot, at int64) (lat, lon float64, ok bool) {
	i, _ := slices.BinarySearchFunc(way, at, func(f Spot, at int64) int { return cmp.Compare(f.At, at) })
	if i > 0 && i < len(way) && way[i].At-way[i-1].At <= longestLeg {
		a, b := way[i-1], way[i]
		part := float64(at-a.At) / float64(b.At-a.At)
		return a.Lat + part*(b.Lat-a.Lat), a.Lon + part*(b.Lon-a.Lon), true
	}
	for _, k := range []int{i - 1, i} {
		if k >= 0 && k < len(way) && max(at-way[k].At, way[k].At-at) <= nearby {
			return way[k].Lat, way[k].Lon, true
		}
	}
	return 0, 0, false
}

// Season returns what was gathered, its effort in squares of a round size.
func (s *Seasons) Season() *sternfan.Season {
	out := s.out
	out.Cells = []sternfan.SeasonCell{}
	if out.Strikes == nil {
		out.Strikes = []sternfan.SeasonStrike{}
	}
	keys := slices.SortedFunc(maps.Keys(s.fine), func(a, b [2]int32) int { return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1])) })
	south, north, west, east := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	take := func(lat, lon float64) {
		south, north = min(south, lat), max(north, lat)
		west, east = min(west, lon), max(east, lon)
	}
	for _, k := range keys {
		take((float64(k[0])+0.5)*fineDegrees, (float64(k[1])+0.5)*fineDegrees)
	}
	for _, k := range out.Strikes {
		take(k.Lat, k.Lon)
	}
	if south > north {
		return &out
	}
	perLat := earthRadius * math.Pi / 180
	perLon := perLat * math.Cos((south+north)/2*math.Pi/180)
	across := max((north-south)*perLat, (east-west)*perLon)
	out.Cell = 100
	for i := 0; across/out.Cell > mostCells; i++ {
		out.Cell *= []float64{2, 2.5, 2}[i%3] // 100, 200, 500, 1000, ...
	}
	cells := map[[2]int]*sternfan.SeasonCell{}
	at := func(lat, lon float64) *sternfan.SeasonCell {
		k := [2]int{int(math.Floor((lat - south) * perLat / out.Cell)), int(math.Floor((lon - west) * perLon / out.Cell))}
		c := cells[k]
		if c == nil {
			c = &sternfan.SeasonCell{Middle: sternfan.Place{
				Lat: south + (float64(k[0])+0.5)*out.Cell/perLat, Lon: west + (float64(k[1])+0.5)*out.Cell/perLon,
			}}
			cells[k] = c
		}
		return c
	}
	for _, k := range keys {
		at((float64(k[0])+0.5)*fineDegrees, (float64(k[1])+0.5)*fineDegrees).RodHours += s.fine[k]
	}
	for _, k := range out.Strikes {
		at(k.Lat, k.Lon).Strikes++
	}
	for _, k := range slices.SortedFunc(maps.Keys(cells), func(a, b [2]int) int { return cmp.Or(cmp.Compare(b[0], a[0]), cmp.Compare(a[1], b[1])) }) {
		out.Cells = append(out.Cells, *cells[k])
	}
	return &out
}
