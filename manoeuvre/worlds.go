package manoeuvre

import (
	"context"
	"math"
	"math/rand/v2"
	"sync"

	"sternfan"
	"sternfan/clearance"
	"sternfan/spread"
)

// Wilson returns the share k of n, with the interval of Wilson 1927 (J. Am. Stat. Assoc.
// 22:209) that holds the true share 4 times in 5.
func Wilson(k, n int) sternfan.Risk {
	r := sternfan.Risk{Broken: k, Of: n, Hi: 1}
	if n == 0 {
		return r
	}
	const z2 = score80 * score80
	size, share := float64(n), float64(k)/float64(n)
	mid := (share + z2/(2*size)) / (1 + z2/size)
	half := score80 * math.Sqrt(share*(1-share)/size+z2/(4*size*size)) / (1 + z2/size)
	r.Lo, r.Hi = math.Max(0, mid-half), math.Min(1, mid+half)
	if k == 0 {
		r.Lo = 0
	}
	if k == n {
		r.Hi = 1
	}
	return r
}

// score80 is the standard normal score of the 90th percentile.
const score80 = 1.2815515655446004

// verdict is one world's: which pairs came inside their margin, nil when it has no answer.
type verdict []bool

// turnWorlds runs the manoeuvre in sampled worlds and puts the risks into the result.
// World k is drawn from the seed and k alone, so that the number of workers does not
// matter.
func (s *Helm) turnWorlds(ctx context.Context, m *Manoeuvre, fan *sternfan.Fan, margins clearance.Margins, opt TurnOptions, out *sternfan.Turn) error {
	all := make([]int, len(s.model.Registry))
	for i := range all {
		all[i] = i
	}
	mix := spread.Mixing(s.model.Registry, all)
	workers := max(1, min(opt.Workers, opt.Worlds))
	verdicts := make([]verdict, opt.Worlds)
	var (
		wait sync.WaitGroup
		lock sync.Mutex
		next int
		done int
	)
	names := make([]pairName, 0)
	for w := range workers {
		wait.Add(1)
		go func() {
			defer wait.Done()
			one := s.again(ctx)
			f := one.fleet(fan, opt.Nodes)
			f.care, f.first = 1, true
			for i := range f.parties {
				f.parties[i].course.Band = 0 // the worlds themselves are the interval
			}
			if w == 0 {
				for i := range f.near {
					names = append(names, pairName{f.parties[f.near[i].a].course.ID, f.parties[f.near[i].b].course.ID})
				}
			}
			x, world := make([]float64, len(all)), make([]float64, len(all))
			for ctx.Err() == nil {
				lock.Lock()
				k := next
				next++
				lock.Unlock()
				if k >= opt.Worlds {
					return
				}
				drawWorld(mix, opt.Seed, k, x, world)
				verdicts[k] = f.world(ctx, m, world, margins)
				lock.Lock()
				done++
				if opt.Progress != nil {
					opt.Progress(done, opt.Worlds)
				}
				lock.Unlock()
			}
		}()
	}
	wait.Wait()
	if err := ctx.Err(); err != nil {
		return err
	}
	broken := make(map[pairName]int, len(names))
	// What ran close before the turn is not of its doing.
	aside := map[pairName]bool{}
	for i := range out.Pairs {
		if p := &out.Pairs[i]; p.First < 1 && !Worsened(p) {
			aside[pairName{p.A, p.B}] = true
		}
	}
	any, solved := 0, 0
	for _, v := range verdicts {
		if v == nil {
			out.Unsolved++
			continue
		}
		solved++
		seen := map[pairName]bool{} // two propellers are one name
		hit := false
		for i, b := range v {
			if b && !seen[names[i]] {
				seen[names[i]] = true
				broken[names[i]]++
				hit = hit || !aside[names[i]]
			}
		}
		if hit {
			any++
		}
	}
	out.Worlds = solved
	r := Wilson(any, solved)
	out.Risk = &r
	for i := range out.Pairs {
		r := Wilson(broken[pairName{out.Pairs[i].A, out.Pairs[i].B}], solved)
		out.Pairs[i].Risk = &r
	}
	return nil
}

type pairName struct{ a, b string }

// drawWorld draws world k of a seed.
func drawWorld(mix []float64, seed uint64, k int, x, world []float64) {
	rng := rand.New(rand.NewPCG(seed, uint64(k)))
	for i := range x {
		x[i] = rng.NormFloat64()
	}
	spread.Mix(mix, x, world)
}

// world runs the manoeuvre in one world.
func (f *fleet) world(ctx context.Context, m *Manoeuvre, world []float64, margins clearance.Margins) verdict {
	env := f.s.Env(world)
	for i := range f.movers {
		if !f.s.In(ctx, f.movers[i].g.System, world, &env) {
			return nil
		}
	}
	f.forget()
	if f.run(ctx, m, &env, compareEvery, margins, nil) != nil {
		return nil
	}
	v := make(verdict, len(f.near))
	for i := range f.near {
		v[i] = f.near[i].ok && f.near[i].Ratio < 1
	}
	return v
}
