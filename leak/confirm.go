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

// stories fits, to the blocks around onset, a ramp that goes on, and the stories
// that it competes with: a jump at any moment, and a rise that ended. It returns
// how much worse (by the sum of squares in units of the variance) than the ramp
// the best of the clear ones is, and the best of the rises that ended only lately.
func (r *recent) stories(onset float64) (clear, late float64) {
	k := r.n - 1
	for k > 0 && r.all[k].t > onset {
		k--
	}
	if r.n-1-k < fewestBlocks {
		return 0, 0
	}
	all := r.all[max(0, k-before):r.n]
	k = min(k, before)
	last := len(all) - 1
	end := all[last].t
	ramp := misfit(all, onset, end)
	clear, late = math.Inf(1), math.Inf(1)
	stride := 1 + (last-k)/mostTries
	for i := k + 1; i < last; i += stride {
		gain := misfit(all, onset, all[i].t) - ramp
		if all[i].t-onset <= 0.4*(end-onset) {
			clear = math.Min(clear, gain)
		} else {
			late = math.Min(late, gain)
		}
		clear = math.Min(clear, misfit(all, all[i-1].t, all[min(i+stride-1, last)].t)-ramp)
		if i+1 <= last {
			clear = math.Min(clear, misfit(all, all[i-1].t, all[min(i+stride, last)].t)-ramp)
		}
	}
	return clear, late
}

// misfit is the weighted sum of squares that is left when a level, and a rise
// from onset to end, are taken out by least squares.
func misfit(all []point, onset, end float64) float64 {
	var w, x, y, xx, xy, yy float64
	base := all[0].y
	for i := range all {
		p := &all[i]
		u, v, g := math.Max(0, math.Min(p.t, end)-onset), p.y-base, 1/p.v
		w += g
		x += g * u
		y += g * v
		xx += g * u * u
		xy += g * u * v
		yy += g * v * v
	}
	sxx, sxy, syy := xx-x*x/w, xy-x*y/w, yy-y*y/w
	if sxx <= 0 {
		return syy
	}
	return syy - sxy*sxy/sxx
}
