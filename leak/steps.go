package leak

import "math"

// fastStep takes a block of seconds.
func (e *Estimator) fastStep() {
	k := &e.fast
	t, y := k.mean()
	if !e.begun {
		e.begin(t, y)
	}
	e.in.noise.settle()
	if k.roomN > 0 {
		e.room = k.room / k.roomN
	}
	if y > openRatio*e.room {
		// The bag is open, or nearly: its pressure tells nothing of the leak.
		e.pressure = y
		return
	}
	e.moved = e.warmth.moved(k)
	e.pressure, e.share = y, psi(y/e.room)
	if e.afresh {
		e.resume(t, y)
		return
	}
	perKelvin := y / (e.warmth.gas + zeroKelvin)
	off := e.warmth.off(t) * perKelvin * (1 + e.restless)
	r := e.in.noise.ofMean(k.n)
	e.foreset += (e.steady - e.growth()) * (t - e.fastAt)
	e.whole.Add(t, y, k.n)
	e.recent.add(point{t, y - e.foreset, r * e.excess})
	e.trend.step(t, t-e.fastAt, y, r*e.excess, k.n, e.steady, e.wild*e.excess, levelDrift+roughness*2*sq(off)/strayTime, e.share)
	e.fastAt = t
	e.judgeFast(t, y)
}

func (e *Estimator) begin(t, y float64) {
	k := &e.fast
	*e = Estimator{cfg: e.cfg, in: e.in, fast: e.fast, excess: 1, room: standard, begun: true, origin: y, said: e.said, young: young{at: math.NaN()}}
	e.from, e.fastAt, e.slowAt, e.newest = t, t, t, e.in.ring[0].T
	e.newest = t
	if k.roomN > 0 {
		e.room = k.room / k.roomN
	}
	e.room0 = e.room
	e.warmth.begin(k, t)
	e.bag.restart(e.cfg.Gassing, e.warmth.hasAir)
	e.wild = sq(30e3 / hour)
	e.trend.anchor(y, e.wild)
}

// resume begins anew after the bag was pumped, or after a gap.
func (e *Estimator) resume(t, y float64) {
	share := min(1, 0.002+1.5*math.Abs(e.before-y)/85e3)
	e.bag.advance(max(0, t-e.slowAt), e.share, 0)
	e.bag.unsettle(share, e.cfg.Gassing)
	e.warmth.follow(&e.fast, t, max(1e-3, t-e.slowAt), y)
	e.afresh = false
	e.fastAt, e.slowAt = t, t
	e.anew(y)
}

// anew forgets the level, and every guess that rests on it.
func (e *Estimator) anew(y float64) {
	e.foretell(1)
	e.trend.anchor(y, e.wild)
	e.recent.clear()
	e.whole = Line{}
	e.young.at = math.NaN()
	e.bag.forget(level, sq(20e3))
	e.guesses.n = 0
	e.slow = block{}
}

// slowDue reports whether it is time for the slow filter to learn: more often
// while a change is young, later while the fast filter is still weighing one.
func (e *Estimator) slowDue() bool {
	if e.slow.n == 0 {
		return false
	}
	wait := min(slowTime, max(2*fastTime, earlyShare*(e.newest-e.from)))
	if young := youngShare * (e.newest - e.young.at); young < wait {
		wait = young
	}
	switch {
	case e.suspect: // what the fast filter makes of it comes first
		wait = longWait
	case e.moved:
		wait = min(wait, movedTime)
	}
	return e.newest-e.slow.start >= wait-fastTime/2
}

// row is how the state shows in a reading.
func (e *Estimator) row() vector {
	h := vector{level: 1, stray: 1, vapour: e.warmth.moist, baro: e.room - e.room0}
	for i := range settleParts {
		h[settle0+i] = -1
	}
	for i, s := range e.warmth.sum {
		h[warm0+i] = s
	}
	return h
}

// slowStep takes a block of a minute.
func (e *Estimator) slowStep() {
	k := &e.slow
	t, y := k.mean()
	dt := t - e.slowAt
	if dt <= 0 {
		return
	}
	moist, room := e.warmth.moist, e.room-e.room0
	e.warmth.follow(k, t, dt, y)
	perKelvin := y / (e.warmth.gas + zeroKelvin)
	off := e.warmth.off(t) * perKelvin * (1 + e.restless)
	h := e.row()
	e.bag.wander = leakWander
	if age := t - e.said.changed; age >= 0 {
		e.bag.wander += newWander * math.Exp(-age/newTime)
	}
	e.bag.doubt(&e.warmth.was, sq(e.warmth.doubt())*dt/hour)
	e.bag.advance(dt, e.share, off)
	if e.isYoung() {
		e.bag.advance(max(0, e.fastAt-t), e.share, 0)
		e.slowAt = e.fastAt
		e.refit()
		e.slope(dt, e.warmth.moist-moist, h[baro]-room)
		e.judge()
		return
	}
	seen, v, ph := e.bag.foresee(&h)
	s := v + e.in.noise.ofMean(k.n) + 0.1
	d := y - e.origin - seen
	e.surprise(d*d/s, dt)
	s += (e.excess - 1) * s
	e.guesses.follow(&e.bag, &h, &ph, dt, e.share, math.Exp(-dt/strayTime), d, s, k.n)
	e.bag.learn(d, s, &ph)
	e.guesses.begin(t)
	e.slowAt = t
	e.slope(dt, e.warmth.moist-moist, h[baro]-room)
	e.judgeSlow()
}

// surprise learns how much more than foreseen the readings differ.
func (e *Estimator) surprise(z2, dt float64) {
	e.restless *= math.Exp(-dt / restlessFor)
	e.excess += (min(z2, 25) - e.excess) * min(1, dt/excessTime)
	e.excess = max(1, e.excess)
}

// growth is how much of the foreseen rise is the young change, Pa/s.
func (e *Estimator) growth() float64 {
	if math.IsNaN(e.young.at) {
		return 0
	}
	return e.share * (e.bag.x[rate] - e.young.rate0)
}

// slope is how fast the pressure is foreseen to rise for the next minute.
func (e *Estimator) slope(dt, moister, baroUp float64) {
	h := vector{rate: e.share, vapour: moister / dt, baro: baroUp / dt}
	for i, tau := range e.bag.tau {
		h[settle0+i] = 1 / tau
	}
	for i := range e.warmth.sum {
		h[warm0+i] = (e.warmth.sum[i] - e.warmth.was[i]) / dt
	}
	mean, v, _ := e.bag.foresee(&h)
	e.steady = mean
	perKelvin := e.pressure / (e.warmth.gas + zeroKelvin)
	was := e.wild
	e.wild0 = sq(e.warmth.drift() * perKelvin * (1 + e.restless) / hour)
	e.wild = max(0, v) + e.wild0
	// What is less sure than a minute ago may be off at once.
	e.trend.dd += max(0, e.wild-was)
}

// foretell works the slope out without a block.
func (e *Estimator) foretell(dt float64) {
	e.warmth.was = e.warmth.sum
	e.slope(dt, 0, 0)
}
