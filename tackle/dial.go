package tackle

import "sternfan/tow"

// Dial gives the rod's divers in sys, built from group g at nominal, the tilt of a dial
// mark, as Resolve does with that mark as the setting.
func (m *Model) Dial(g, rod int, mark float64, sys *tow.System) {
	t := &m.Groups[g]
	for i := range t.nodes {
		if t.Nodes[i].Rod != rod {
			continue
		}
		for k := t.nodes[i].bodies[0]; k < t.nodes[i].bodies[1]; k++ {
			if b := &t.bodies[k]; b.dial >= 0 {
				sys.Nodes[i].Bodies[k-t.nodes[i].bodies[0]].Roll = b.side * m.value(b.tilt, nil) * tiltAt(b.marks, b.tilts, m.calibrated(b.dial, mark))
			}
		}
	}
}

// calibrated returns what an entry of the registry is with another value given for it.
func (m *Model) calibrated(entry int, v float64) float64 {
	for i := range m.Scenario.Calibrations {
		c := &m.Scenario.Calibrations[i]
		if c.Off || c.Name != m.Registry[entry].Name {
			continue
		}
		if c.Scale != 0 {
			v *= c.Scale
		}
		v += c.Shift
	}
	return v
}
