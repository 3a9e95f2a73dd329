package leak

import "math"

// trend is the fast filter: level and drift of the pressure over some minutes,
// beside what the slow filter foresees. It notices a leak within seconds.
type trend struct {
	level, drift  float64 // Pa, Pa/s
	ll, ld, dd    float64 // their covariance
	n             int
	born          [fastGuesses]float64 // T at which each guess says that it began, oldest first, s
	slot          [fastGuesses]uint8   // where in all each of them is
	all           [fastGuesses]spurt
	loud          bool    // one of them stands out
	lastD, lastSD float64 // the newest difference and its standard deviation
}

// spurt is a change of the fast filter: the leak grew (ramp), or the reading
// jumped and stayed (jump).
type spurt struct {
	readings     float64 // since then
	rampL, rampD float64 // how far the filter is off in level and drift
	jumpL, jumpD float64
	see          float64 // how much of the newest difference a unit ramp makes
	ramp, jump   evidence
}

// at is the guess that is i-th oldest.
func (f *trend) at(i int) *spurt { return &f.all[f.slot[i]%fastGuesses] }

// anchor forgets the level and every guess: what comes next is new.
func (f *trend) anchor(at, wild float64) {
	f.level, f.drift = at, 0
	f.ll, f.ld, f.dd = sq(10e3), 0, wild
	f.n = 0
}

// step carries the filter on by dt and learns y, a mean of n readings with
// variance r. steady is how fast the pressure is foreseen to rise, Pa/s; wild
// the variance of the drift beside it; qLevel the variance that the level gains
// in a second; share how much of its choked flow a leak has.
func (f *trend) step(t, dt, y, r, n, steady, wild, qLevel, share float64) {
	keeps := 1 - min(1, dt/driftTime)
	f.level += dt * (steady + f.drift)
	f.ll += dt*(2*f.ld+dt*f.dd) + qLevel*dt
	f.ld = keeps * (f.ld + dt*f.dd)
	f.drift *= keeps
	f.dd = keeps*keeps*f.dd + (1-keeps*keeps)*wild
	d, s := y-f.level, f.ll+r
	perS := 1 / s
	kl, kd := f.ll*perS, f.ld*perS
	flow := share * dt
	f.loud = false
	for i := range f.n {
		c := f.at(i)
		rampL := c.rampL + flow + dt*c.rampD
		jumpL := c.jumpL + dt*c.jumpD
		c.see = rampL
		c.ramp.add(rampL, d, perS)
		c.jump.add(jumpL, d, perS)
		c.rampD = c.rampD*keeps - kd*rampL
		c.jumpD = c.jumpD*keeps - kd*jumpL
		c.rampL = rampL - kl*rampL
		c.jumpL = jumpL - kl*jumpL
		c.readings += n
		if c.ramp.loud() || c.jump.loud() {
			f.loud = true
		}
	}
	f.level += kl * d
	f.drift += kd * d
	f.ll, f.ld, f.dd = f.ll-kl*f.ll, f.ld-kl*f.ld, f.dd-kd*f.ld
	f.lastD, f.lastSD = d, math.Sqrt(s)
	f.begin(t)
}

// begin adds a guess that something changed at t.
func (f *trend) begin(t float64) {
	switch {
	case f.n > 0 && t-f.born[0] > fastMemory:
		f.drop(0)
	case f.n == fastGuesses:
		f.drop(crowded(t, f.born[:]))
	}
	if f.n == 0 {
		for i := range f.slot {
			f.slot[i] = uint8(i)
		}
	}
	f.born[f.n] = t
	*f.at(f.n) = spurt{jumpL: 1}
	f.n++
}

// drop forgets guess i.
func (f *trend) drop(i int) {
	free := f.slot[i]
	copy(f.born[i:], f.born[i+1:f.n])
	copy(f.slot[i:], f.slot[i+1:f.n])
	f.n--
	f.slot[f.n] = free
}

// best returns the most likely ramp and the most likely jump, -1 for none, when
// one of them stands out at all.
func (f *trend) best() (ramp, jump int) {
	ramp, jump = -1, -1
	if !f.loud {
		return ramp, jump
	}
	var rampGain, jumpGain float64
	for i := range f.n {
		c := f.at(i)
		if g := c.ramp.gain(); g > rampGain && c.readings >= enough {
			ramp, rampGain = i, g
		}
		if g := c.jump.gain(); g > jumpGain {
			jump, jumpGain = i, g
		}
	}
	return ramp, jump
}

// blend is the size of the ramp, its variance and its onset when every guess
// has its say, weighed by how likely it is.
func (f *trend) blend(i int) (size, v, at float64) {
	best := f.at(i)
	// A guess too young to be the best may still be the likeliest.
	top := best.ramp.gain()
	for i := range f.n {
		if c := f.at(i); c.agrees(best) {
			top = max(top, c.ramp.gain())
		}
	}
	var w, sum, square, when float64
	for i := range f.n {
		c := f.at(i)
		if !c.agrees(best) {
			continue
		}
		a := math.Exp((c.ramp.gain()-top)/2) * f.spread(i)
		r := c.ramp.size()
		w += a
		sum += a * r
		square += a * (r*r + 1/c.ramp.info)
		when += a * f.born[i]
	}
	size = sum / w
	return size, square/w - size*size, when / w
}

// agrees reports whether the spurt has a say in the size of the ramp of best.
func (c *spurt) agrees(best *spurt) bool {
	return c.readings >= enough/2 && c.ramp.info > 0 && c.ramp.match*best.ramp.match > 0
}

// spread is the time that guess i stands for, s.
func (f *trend) spread(i int) float64 {
	from, to := f.born[max(i-1, 0)], f.born[min(i+1, f.n-1)]
	return max(to-from, 1e-3)
}

// fits reports whether the newest block is what the ramp foretells.
func (f *trend) fits(i int) bool {
	c := f.at(i)
	foretold := c.ramp.size() * c.see
	return math.Abs(f.lastD-foretold) < 3.5*f.lastSD+0.1*math.Abs(foretold)
}

// accept takes a ramp of size a, known with variance v, for true.
func (f *trend) accept(i int, a, v float64) {
	c := f.at(i)
	f.level += a * c.rampL
	f.drift += a * c.rampD
	f.ll += v * c.rampL * c.rampL
	f.ld += v * c.rampL * c.rampD
	f.dd += v * c.rampD * c.rampD
	f.n = 0
}
