package leak

import "math"

// The state of the bag, as the slow filter sees it. Pressures are relative to
// the first reading.
const (
	level   = iota // Pa
	rate           // rise through the leak were the flow choked, Pa/s
	settle0        // parts of the settling still to come, Pa
	settle1
	settle2
	settle3
	settle4
	warm0 // answers to the temperatures, as a share of p/T
	warm1
	warm2
	warm3
	vapour // share of the vapour's saturation pressure
	baro   // answer to the room's pressure
	stray  // what the thermometers and the barometer do not tell, Pa
	states
)

const settleParts = warm0 - settle0

type vector [states]float64

// bag is a Kalman filter for the pressure in a sealed bag: a level that a leak
// raises, a settling made of exponentials that die away, answers to temperature,
// vapour and barometer that are learnt from the night itself, and a stray part
// that comes and goes.
type bag struct {
	x      vector
	p      [states]vector
	tau    [settleParts]float64 // s
	fit    [settleParts]float64 // how much of each part is left after a step
	wander float64              // share of the leak by which it wanders in the square root of an hour
	lag    float64              // the step, s, that fit is for
}

// restart begins a hold: nothing is known but what bags are like.
func (b *bag) restart(gassing, hasAir bool) {
	*b = bag{tau: [settleParts]float64{60, 240, 900, 2700, 10800}}
	if gassing {
		// Gas from a moisture-cured polyurethane comes for hours.
		b.tau = [settleParts]float64{120, 600, 2400, 7200, 21600}
	}
	b.p[level][level] = sq(10e3)
	b.p[rate][rate] = sq(30e3 / hour)
	mean, sd := [4]float64{1, 0.7, 0.5, 0}, [4]float64{0.2, 0.8, 1, 0}
	if hasAir {
		mean, sd = [4]float64{0.2, 0.4, 0.2, 0.2}, [4]float64{0.4, 0.5, 0.4, 0.3}
	}
	for i := range mean {
		b.x[warm0+i] = mean[i]
		b.p[warm0+i][warm0+i] = sq(sd[i])
	}
	if hasAir {
		b.whole()
	}
	b.x[vapour], b.p[vapour][vapour] = 0.5, sq(0.4)
	b.p[baro][baro] = sq(0.1)
	b.unsettle(1, gassing)
}

// whole says that the answers to the temperatures make p/T together: the gas
// is somewhere between the thermometers.
func (b *bag) whole() {
	h := vector{warm0: 1, warm1: 1, warm2: 1, warm3: 1}
	y, v, ph := b.foresee(&h)
	b.learn(1-y, v+sq(0.15), &ph)
}

// unsettle says that a settling begins anew. share is its size beside the one
// that follows a full pull-down.
func (b *bag) unsettle(share float64, gassing bool) {
	size := [settleParts]float64{3000, 3000, 2000, 2000, 300}
	if gassing {
		size = [settleParts]float64{3000, 3000, 4000, 5000, 4000}
	}
	for i := range settleParts {
		b.p[settle0+i][settle0+i] += sq(size[i] * share)
	}
}

// forget cuts state i loose from the others and gives it the variance v.
func (b *bag) forget(i int, v float64) {
	for j := range states {
		b.p[i][j], b.p[j][i] = 0, 0
	}
	b.p[i][i] = v
}

// pin sets the level so that what h sees is y with the variance v, whatever the
// rest of the state is; withRate is how y and the leak's rate vary together.
func (b *bag) pin(h *vector, y, v, withRate float64) {
	b.forget(level, 0)
	b.x[level] = 0
	others := *h
	others[level] = 0
	seen, more, ph := b.foresee(&others)
	b.x[level] = y - seen
	for j := range states {
		b.p[level][j], b.p[j][level] = -ph[j], -ph[j]
	}
	b.p[level][level] = v + more
	b.p[level][rate] += withRate
	b.p[rate][level] += withRate
}

// carry moves a vector of states on by dt seconds while the leak flows at share
// of its choked flow.
func (b *bag) carry(x *vector, dt, share, strayKeeps float64) {
	x[level] += share * dt * x[rate]
	for i := range settleParts {
		x[settle0+i] *= b.fit[i]
	}
	x[stray] *= strayKeeps
}

// doubt says that the answers to the temperatures have changed by what has the
// variance v, from now on: what they have done to the pressure so far stays.
func (b *bag) doubt(sum *[4]float64, v float64) {
	for i, s := range sum {
		k := warm0 + i
		b.p[k][k] += v
		b.p[k][level] -= s * v
		b.p[level][k] -= s * v
		b.p[level][level] += s * s * v
	}
}

// tune works out what is left of the settling after dt seconds.
func (b *bag) tune(dt float64) {
	if dt == b.lag {
		return
	}
	b.lag = dt
	for i, tau := range b.tau {
		b.fit[i] = math.Exp(-dt / tau)
	}
}

// advance moves the state on by dt seconds. The stray part has the standard
// deviation off and is forgotten with the time constant strayTime.
func (b *bag) advance(dt, share, off float64) {
	b.tune(dt)
	keeps := math.Exp(-dt / strayTime)
	b.carry(&b.x, dt, share, keeps)
	for i := range states {
		b.carry(&b.p[i], dt, share, keeps)
	}
	g := share * dt
	for j := range states {
		b.p[level][j] += g * b.p[rate][j]
	}
	for i := range settleParts {
		for j := range states {
			b.p[settle0+i][j] *= b.fit[i]
		}
	}
	for j := range states {
		b.p[stray][j] *= keeps
	}
	b.p[stray][stray] += (1 - keeps*keeps) * sq(off)
	for i, tau := range b.tau {
		// Real settling is no sum of just these exponentials: what is still to
		// come is doubted, without the pressure as it is being doubted.
		k := settle0 + i
		q := sq(settleDoubt*(math.Abs(b.x[k])+0.2*math.Sqrt(b.p[k][k]))) * 2 * dt / tau
		b.p[k][k] += q
		b.p[k][level] += q
		b.p[level][k] += q
		b.p[level][level] += q
	}
	b.p[level][level] += levelDrift * dt
	b.p[rate][rate] += (sq(rateWander/hour) + sq(b.wander*b.x[rate])) / hour * dt
}

// foresee returns what h sees of the state, the variance of that, and P·h.
func (b *bag) foresee(h *vector) (y, v float64, ph vector) {
	for i := range states {
		ph[i] = b.p[i].dot(h)
	}
	return h.dot(&b.x), h.dot(&ph), ph
}

// dot is the inner product. Four sums side by side do not wait for each other.
func (a *vector) dot(b *vector) float64 {
	s0 := a[0]*b[0] + a[4]*b[4] + a[8]*b[8] + a[12]*b[12]
	s1 := a[1]*b[1] + a[5]*b[5] + a[9]*b[9] + a[13]*b[13]
	s2 := a[2]*b[2] + a[6]*b[6] + a[10]*b[10]
	s3 := a[3]*b[3] + a[7]*b[7] + a[11]*b[11]
	return (s0 + s1) + (s2 + s3)
}

// dot is written out for this many states.
const _ = uint(states-14) + uint(14-states)

// learn corrects the state by the difference d of the reading from what was
// foreseen; s is the variance of d.
func (b *bag) learn(d, s float64, ph *vector) {
	perS := 1 / s
	for i := range states {
		k := ph[i] * perS
		b.x[i] += k * d
		row := &b.p[i]
		for j := range states {
			row[j] -= k * ph[j]
		}
	}
}

// shift says that the truth is off by a·by, where a is known with variance v.
func (b *bag) shift(by *vector, a, v float64) {
	for i := range states {
		b.x[i] += a * by[i]
		for j := range states {
			b.p[i][j] += v * by[i] * by[j]
		}
	}
}

// settling is how fast the settling still raises the pressure, and the standard
// deviation of that, Pa/s.
func (b *bag) settling() (mean, sd float64) { return b.rising(0) }

// rising is the same for the settling and a leak at share of its choked flow.
func (b *bag) rising(share float64) (mean, sd float64) {
	// What the rate and the parts of the settling, which follow it, add.
	h := [1 + settleParts]float64{share}
	for i, tau := range b.tau {
		h[1+i] = 1 / tau
	}
	v := 0.0
	for i := range h {
		row := b.p[rate+i][rate : rate+len(h)]
		sum := 0.0
		for j := range h {
			sum += row[j] * h[j]
		}
		mean += h[i] * b.x[rate+i]
		v += h[i] * sum
	}
	return mean, math.Sqrt(max(0, v))
}

// possible is the leak's rate when the settling may only come out: its mean
// given that the parts that are less than nothing are nothing.
func (b *bag) possible() float64 {
	// The rate and the parts of the settling, with their covariance.
	const n = settleParts + 1
	var x [n]float64
	var p [n][n]float64
	for i := range n {
		x[i] = b.x[rate+i]
		for j := range n {
			p[i][j] = b.p[rate+i][rate+j]
		}
	}
	for range settleParts {
		worst, most := 0, 0.0
		for i := 1; i < n; i++ {
			if x[i] >= 0 {
				continue
			}
			// By how many standard deviations, squared.
			if z := x[i] * x[i] / (p[i][i] + 1e-9); z > most {
				worst, most = i, z
			}
		}
		if worst == 0 {
			break
		}
		at, row := x[worst], p[worst]
		per := 1 / (p[worst][worst] + 1e-9)
		for i := range n {
			k := row[i] * per
			x[i] -= k * at
			for j := range n {
				p[i][j] -= k * row[j]
			}
		}
		x[worst], p[worst][worst] = 0, 0
	}
	return x[0]
}

func sq(x float64) float64 { return x * x }
