package leak

import "math"

// trend is the fast filter: level and drift of the pressure over some minutes,
// beside what the slow filter foresees. It notices a leak within seconds.
type trend struct {
	level, drift  float64 // Pa, Pa/s
	ll, ld, dd    float64 // their covariance
	n             int
	all           [fastGuesses]spurt
	lastD, lastSD float64 // the newest difference and its standard deviation
}

// spurt is a change of the fast filter: the leak grew (ramp), or the reading
// jumped and stayed (jump).
type spurt struct {
	at           float64 // T, s
	readings     float64 // since then
	rampL, rampD float64 // how far the filter is off in level and drift
	jumpL, jumpD float64
	see          float64 // how much of the newest difference a unit ramp makes
	ramp, jump   evidence
}

// anchor forgets the level and every guess: what comes next is new.
func (f *trend) anchor(at float64) {
	f.level, f.drift = at, 0
	f.ll, f.ld, f.dd = sq(10e3), 0, 0
	f.n = 0
}

// step carries the filter on by dt and learns y, a mean of n readings with
// variance r. steady is how fast the pressure is foreseen to rise, Pa/s; wild
// the variance of the drift beside it; qLevel the variance that the level gains
// in a second; share how much of its choked flow a leak has.
func (f *trend) step(t, dt, y, r, n, steady, wild, qLevel, share float64) {
	keeps := 1 - math.Min(1, dt/driftTime)
	f.level += dt * (steady + f.drift)
	f.ll += dt*(2*f.ld+dt*f.dd) + qLevel*dt
	f.ld = keeps * (f.ld + dt*f.dd)
	f.drift *= keeps
	f.dd = keeps*keeps*f.dd + (1-keeps*keeps)*wild
	d, s := y-f.level, f.ll+r
	perS := 1 / s
	kl, kd := f.ll*perS, f.ld*perS
	flow := share * dt
	for i := range f.n {
		c := &f.all[i]
		c.rampL += flow + dt*c.rampD
		c.jumpL += dt * c.jumpD
		c.rampD *= keeps
		c.jumpD *= keeps
		c.see = c.rampL
		c.ramp.add(c.rampL, d, perS)
		c.jump.add(c.jumpL, d, perS)
		c.rampD -= kd * c.rampL
		c.jumpD -= kd * c.jumpL
		c.rampL -= kl * c.rampL
		c.jumpL -= kl * c.jumpL
		c.readings += n
	}
	f.level += kl * d
	f.drift += kd * d
	f.ll, f.ld, f.dd = f.ll-kl*f.ll, f.ld-kl*f.ld, f.dd-kd*f.ld
	f.lastD, f.lastSD = d, math.Sqrt(s)
	f.begin(t)
}

// begin adds a guess that something changed at t.
func (f *trend) begin(t float64) {
	if f.n > 0 && t-f.all[0].at > fastMemory {
		copy(f.all[:], f.all[1:f.n])
		f.n--
	}
	if f.n == fastGuesses {
		i := crowded(t, func(i int) float64 { return f.all[i].at }, f.n)
		copy(f.all[i:], f.all[i+1:])
		f.n--
	}
	f.all[f.n] = spurt{at: t, jumpL: 1}
	f.n++
}

// best returns the most likely ramp and the most likely jump, nil for none.
func (f *trend) best() (ramp, jump *spurt) {
	mostRamp, mostJump := 0.0, 0.0
	for i := range f.n {
		c := &f.all[i]
		if g := c.ramp.gain(); g > mostRamp && c.readings >= enough {
			ramp, mostRamp = c, g
		}
		if g := c.jump.gain(); g > mostJump {
			jump, mostJump = c, g
		}
	}
	return ramp, jump
}

// blend is the size of the ramp, its variance and its onset when every guess
// has its say, weighed by how likely it is.
func (f *trend) blend(best *spurt) (size, v, at float64) {
	top := best.ramp.gain()
	var w, sum, square, when float64
	for i := range f.n {
		c := &f.all[i]
		if c.readings < enough/2 || c.ramp.info <= 0 || c.ramp.match*best.ramp.match <= 0 {
			continue
		}
		a := math.Exp((c.ramp.gain()-top)/2) * f.spread(i)
		r := c.ramp.size()
		w += a
		sum += a * r
		square += a * (r*r + 1/c.ramp.info)
		when += a * c.at
	}
	size = sum / w
	return size, square/w - size*size, when / w
}

// spread is the time that guess i stands for, s.
func (f *trend) spread(i int) float64 {
	from, to := f.all[max(i-1, 0)].at, f.all[min(i+1, f.n-1)].at
	return math.Max(to-from, 1e-3)
}

// fits reports whether the newest block is what the ramp foretells.
func (f *trend) fits(c *spurt) bool {
	foretold := c.ramp.size() * c.see
	return math.Abs(f.lastD-foretold) < 3.5*f.lastSD+0.1*math.Abs(foretold)
}

// accept takes a ramp of size a, known with variance v, for true.
func (f *trend) accept(c *spurt, a, v float64) {
	f.level += a * c.rampL
	f.drift += a * c.rampD
	f.ll += v * c.rampL * c.rampL
	f.ld += v * c.rampL * c.rampD
	f.dd += v * c.rampD * c.rampD
	f.n = 0
}
