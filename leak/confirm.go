package leak

import "math"

// recent keeps the newest blocks of the fast filter, so that a ramp that stands
// out can be held against the other stories: that the pressure rose once and
// stayed. It is asked only when something stands out.
type recent struct {
	n   int
	all [recentBlocks]point
}

const recentBlocks = 256

// point is one block: T, s; its mean beside what was foreseen of the rise, Pa;
// and the variance of that.
type point struct{ t, y, v float64 }

func (r *recent) clear() { r.n = 0 }

// add keeps a block; it thins the older half when there is no more room.
func (r *recent) add(p point) {
	if r.n == recentBlocks {
		copy(r.all[:], r.all[recentBlocks/4:])
		r.n -= recentBlocks / 4
	}
	r.all[r.n] = p
	r.n++
}

// fewestBlocks since the onset are needed to tell one story from the other.
const fewestBlocks = 4

// mostTries bounds the moments at which a rise is tried to end.
const mostTries = 32

// before is how many blocks before the onset tell the level.
const before = 24

// stories says how much worse than a ramp that goes on (by the sum of squares in
// units of the variance) the best of the stories is that it competes with.
type stories struct {
	jump  float64 // a jump at any moment, or a rise that soon ended, and high
	small float64 // the same, but no higher than a jump that a part would make
	late  float64 // a rise that ended only lately
}

// stories weighs the blocks around onset. A jump below least, Pa, is small.
func (r *recent) stories(onset, least float64) stories {
	k := r.n - 1
	for k > 0 && r.all[k].t > onset {
		k--
	}
	if r.n-1-k < fewestBlocks {
		return stories{}
	}
	all := r.all[max(0, k-before):r.n]
	k = min(k, before)
	last := len(all) - 1
	end := all[last].t
	ramp, _ := misfit(all, onset, end)
	out := stories{math.Inf(1), math.Inf(1), math.Inf(1)}
	soon := func(from, to float64) {
		left, height := misfit(all, from, to)
		if height > least {
			out.jump = min(out.jump, left-ramp)
		} else {
			out.small = min(out.small, left-ramp)
		}
	}
	stride := 1 + (last-k)/mostTries
	for i := k + 1; i < last; i += stride {
		if all[i].t-onset <= 0.4*(end-onset) {
			soon(onset, all[i].t)
		} else if left, _ := misfit(all, onset, all[i].t); left-ramp < out.late {
			out.late = left - ramp
		}
		soon(all[i-1].t, all[min(i+stride-1, last)].t)
		soon(all[i-1].t, all[min(i+stride, last)].t)
	}
	return out
}

// misfit is the weighted sum of squares that is left when a level, and a rise
// from onset to end, are taken out by least squares, and how high that rise is.
func misfit(all []point, onset, end float64) (left, height float64) {
	var w, x, y, xx, xy, yy float64
	base := all[0].y
	for i := range all {
		p := &all[i]
		u, v, g := max(0, min(p.t, end)-onset), p.y-base, 1/p.v
		w += g
		x += g * u
		y += g * v
		xx += g * u * u
		xy += g * u * v
		yy += g * v * v
	}
	sxx, sxy, syy := xx-x*x/w, xy-x*y/w, yy-y*y/w
	if sxx <= 0 {
		return syy, 0
	}
	return syy - sxy*sxy/sxx, math.Abs(sxy / sxx * (end - onset))
}
