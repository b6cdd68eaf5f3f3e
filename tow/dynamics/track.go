package dynamics

import (
	"math"
	"sort"

	"sternfan/geom"
)

// Leg is a stretch of a boat's way over which its yaw rate and its speed through the
// surface water change evenly.
type Leg struct {
	Duration float64    // s
	Yaw      [2]float64 // at its start and end, rad/s, positive to starboard
	Speed    [2]float64 // m/s; negative astern
}

// Track is a course made of legs, without leeway, in surface water that itself moves.
// Before its start and after its end the boat goes straight on at the speed it has there.
type Track struct {
	water geom.Vec
	legs  []placed
}

// placed is a leg with the pose at its start.
type placed struct {
	t, length    float64
	at           geom.Vec // without the water's own motion
	heading      float64
	yaw, dyaw    float64
	speed, accel float64
}

// steepest is the most that the heading changes in one piece of a leg, rad: the
// quadrature of [placed.pose] is then exact to rounding.
const steepest = 0.7

// NewTrack returns the course through the legs, from heading 0 at the origin. water is
// the velocity of the surface water over ground.
func NewTrack(water geom.Vec, legs []Leg) *Track {
	tr := &Track{water: water}
	end := placed{}
	for _, l := range legs {
		if !(l.Duration > 0) {
			continue
		}
		turned := math.Max(math.Abs(l.Yaw[0]), math.Abs(l.Yaw[1])) * l.Duration
		n := 1
		if l.Yaw[0] != l.Yaw[1] || l.Speed[0] != l.Speed[1] {
			n = min(10000, int(turned/steepest)+1)
		}
		for k := range n {
			a, b := float64(k)/float64(n), float64(k+1)/float64(n)
			dt := l.Duration / float64(n)
			p := placed{t: end.t, length: dt, at: end.at, heading: end.heading}
			p.yaw, p.dyaw = mix(l.Yaw, a), (mix(l.Yaw, b)-mix(l.Yaw, a))/dt
			p.speed, p.accel = mix(l.Speed, a), (mix(l.Speed, b)-mix(l.Speed, a))/dt
			tr.legs = append(tr.legs, p)
			var pose Pose
			p.pose(dt, &pose)
			end = placed{t: p.t + dt, at: pose.At, heading: pose.Heading, speed: mix(l.Speed, b)}
		}
	}
	end.length = math.Inf(1)
	tr.legs = append(tr.legs, end)
	return tr
}

func mix(v [2]float64, x float64) float64 { return v[0] + x*(v[1]-v[0]) }

// The quadrature of Gauss & Legendre with eight points, on [-1, 1] (Abramowitz & Stegun,
// Handbook of Mathematical Functions, table 25.4).
var gauss = [4][2]float64{
	{0.183434642495649805, 0.362683783378361983},
	{0.525532409916328986, 0.313706645877887287},
	{0.796666477413626740, 0.222381034453374471},
	{0.960289856497536232, 0.101228536290376259},
}

// pose gives the pose s into the leg, without the water's motion.
func (l *placed) pose(s float64, p *Pose) {
	p.Heading = l.heading + s*(l.yaw+s*l.dyaw/2)
	p.Yaw = l.yaw + s*l.dyaw
	speed := l.speed + s*l.accel
	sin, cos := math.Sincos(p.Heading)
	p.Velocity = geom.Vec{X: speed * cos, Y: speed * sin}
	if l.dyaw == 0 && l.accel == 0 {
		// An arc: its chord lies along the mean heading.
		half := l.yaw * s / 2
		chord := l.speed * s
		if math.Abs(half) > 1e-8 {
			chord *= math.Sin(half) / half
		}
		sin, cos = math.Sincos(l.heading + half)
		p.At = l.at.Add(geom.Vec{X: chord * cos, Y: chord * sin})
		return
	}
	var sum geom.Vec
	for _, g := range gauss {
		for _, x := range [2]float64{(1 - g[0]) / 2, (1 + g[0]) / 2} {
			q := x * s
			sin, cos := math.Sincos(l.heading + q*(l.yaw+q*l.dyaw/2))
			v := (l.speed + q*l.accel) * g[1] / 2 * s
			sum.X += v * cos
			sum.Y += v * sin
		}
	}
	p.At = l.at.Add(sum)
}

// At gives the pose at time t.
func (tr *Track) At(t float64, p *Pose) {
	i := sort.Search(len(tr.legs), func(i int) bool { return tr.legs[i].t > t }) - 1
	if i < 0 {
		first := placed{speed: tr.legs[0].speed}
		first.pose(t, p)
	} else {
		l := &tr.legs[i]
		l.pose(t-l.t, p)
	}
	p.At = p.At.AddScaled(t, tr.water)
	p.Velocity = p.Velocity.Add(tr.water)
}

// Next returns the start of the first leg after t.
func (tr *Track) Next(t float64) float64 {
	i := sort.Search(len(tr.legs), func(i int) bool { return tr.legs[i].t > t+1e-9 })
	if i == len(tr.legs) {
		return math.Inf(1)
	}
	return tr.legs[i].t
}

// Duration returns when the last leg ends, s.
func (tr *Track) Duration() float64 { return tr.legs[len(tr.legs)-1].t }
