package leak

import "math"

// young is a change of the leak of which the fast filter's blocks still hold
// all: its size is found from all of them at once, by least squares, instead of
// from the state at the moment when it was noticed.
type young struct {
	at          float64 // T of its begin, s; NaN for none
	rate0, var0 float64 // the leak before, Pa/s, and its variance
}

const (
	youngFor  = 900.0 // s
	onsetGrid = 15    // begins that are tried
)

// rise is what the blocks say of a rise: its rate, Pa/s, where the pressure is
// now beside what was foreseen, Pa, how they vary, and when it began, T.
type rise struct {
	rate, v, now, nowV, cov, at float64
}

// fit finds the rise that began near at. Each begin has its say, weighed by how
// well it explains the blocks.
func (r *recent) fit(at float64) rise {
	end := r.all[r.n-1].t
	from := 0
	for from < r.n-1 && r.all[from].t < at-max(end-at, 150) {
		from++
	}
	all := r.all[from:r.n]
	span := max(30, 0.35*(end-at))
	var tries [onsetGrid]rise
	var left [onsetGrid]float64
	least := math.Inf(1)
	for i := range tries {
		begin := at + span*(2*float64(i)/(onsetGrid-1)-1)
		begin = max(min(begin, all[len(all)-2].t), all[0].t)
		tries[i], left[i] = riseFrom(all, begin)
		least = min(least, left[i])
	}
	var out rise
	sum := 0.0
	for i, k := range tries {
		w := math.Exp((least - left[i]) / 2)
		sum += w
		out.rate += w * k.rate
		out.now += w * k.now
		out.at += w * k.at
	}
	out.rate, out.now, out.at = out.rate/sum, out.now/sum, out.at/sum
	for i, k := range tries {
		w := math.Exp((least-left[i])/2) / sum
		out.v += w * (k.v + sq(k.rate-out.rate))
		out.nowV += w * (k.nowV + sq(k.now-out.now))
		out.cov += w * (k.cov + (k.rate-out.rate)*(k.now-out.now))
	}
	return out
}

// riseFrom fits a level and a rise from begin by least squares, and returns the
// weighted sum of squares that is left.
func riseFrom(all []point, begin float64) (k rise, left float64) {
	var w, x, y, xx, xy, yy float64
	base := all[0].y
	for i := range all {
		p := &all[i]
		u, v, g := max(0, p.t-begin), p.y-base, 1/p.v
		w += g
		x += g * u
		y += g * v
		xx += g * u * u
		xy += g * u * v
		yy += g * v * v
	}
	mean := x / w
	sxx, sxy := xx-x*mean, xy-mean*y
	if sxx <= 0 {
		sxx = 1e-9
	}
	reach := all[len(all)-1].t - begin - mean
	k = rise{rate: sxy / sxx, v: 1 / sxx, now: base + y/w + reach*sxy/sxx, at: begin}
	k.nowV, k.cov = 1/w+reach*reach/sxx, reach/sxx
	return k, yy - y*y/w - sxy*sxy/sxx
}

// isYoung reports whether there is a change that the blocks still hold.
func (e *Estimator) isYoung() bool {
	y := &e.young
	if !(e.fastAt-y.at <= youngFor) || e.recent.n < fewestBlocks || e.recent.all[0].t > y.at {
		y.at = math.NaN()
		return false
	}
	return true
}

// refit works the young change out anew. The slow filter must be at fastAt.
func (e *Estimator) refit() {
	y := &e.young
	k := e.recent.fit(y.at)
	// What the drift may have added meanwhile is no more certain than it is.
	v := k.v/sq(e.share) + e.wild0
	h := e.row()
	e.bag.x[rate] = y.rate0 + k.rate/e.share
	e.bag.forget(rate, y.var0+v)
	e.bag.pin(&h, k.now+e.foreset-e.origin, k.nowV, k.cov/e.share)
	if e.said.changed == y.at {
		e.said.changed = k.at
	}
	if e.said.onset == y.at {
		e.said.onset = k.at
	}
	y.at = k.at
}
