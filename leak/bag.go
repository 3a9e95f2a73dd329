package leak

import "math"

// The state of the bag, as the filter sees it. Pressures are relative to the
// first reading.
const (
	level   = iota // Pa
	rate           // rise through the leak were the flow choked, Pa/s
	settle0        // four parts of the settling still to come, each with its own time
	settle1
	settle2
	settle3
	warmFast // answer to the temperature, lagged a little, Pa/K
	warmSlow // answer to the temperature, lagged a lot, Pa/K
	baro     // answer to the room's pressure
	states
)

const settleParts = warmFast - settle0

// bag is a Kalman filter for the pressure in a sealed bag: a level that a leak
// raises, a settling made of exponentials that die away, and answers to
// temperature and barometer that are learnt from the night itself.
type bag struct {
	x   [states]float64
	p   [states][states]float64
	tau [settleParts]float64 // s
}

// restart begins a hold: nothing is known of the pressure and the settling.
func (b *bag) restart(pressure, kelvin float64, gassing bool) {
	*b = bag{tau: [settleParts]float64{60, 300, 1200, 4800}}
	if gassing {
		// Gas from a moisture-cured polyurethane comes for hours.
		b.tau = [settleParts]float64{120, 900, 3600, 14400}
	}
	perKelvin := pressure / kelvin // constant volume: dp/dT = p/T
	b.p[rate][rate] = sq(20e3 / 3600)
	b.x[warmFast], b.x[warmSlow] = perKelvin/2, perKelvin/2
	b.p[warmFast][warmFast] = sq(0.5*perKelvin + 15)
	b.p[warmSlow][warmSlow] = sq(0.5*perKelvin + 15)
	b.p[baro][baro] = sq(0.1)
	b.unsettle(1, gassing)
}

// unsettle forgets the level and says that a settling begins. share is its size
// beside the one that follows a full pull-down.
func (b *bag) unsettle(share float64, gassing bool) {
	size := [settleParts]float64{2000, 1500, 700, 200}
	if gassing {
		size = [settleParts]float64{2000, 2000, 2000, 4000}
	}
	b.forget(level, sq(10e3))
	for i := range settleParts {
		b.x[settle0+i] = 0
		b.forget(settle0+i, sq(size[i]*share))
	}
}

// forget cuts state i loose from the others and gives it the variance v.
func (b *bag) forget(i int, v float64) {
	for j := range states {
		b.p[i][j], b.p[j][i] = 0, 0
	}
	b.p[i][i] = v
}

// advance moves the state on by dt seconds while the leak flows at share of its
// choked flow. drift is the variance that the level gains in a second, wander
// that of the rate.
func (b *bag) advance(dt, share, drift, wander float64) {
	g := share * dt
	b.x[level] += g * b.x[rate]
	for j := range states {
		b.p[level][j] += g * b.p[rate][j]
	}
	for j := range states {
		b.p[j][level] += g * b.p[j][rate]
	}
	for i := range settleParts {
		k := settle0 + i
		f := math.Exp(-dt / b.tau[i])
		b.x[k] *= f
		for j := range states {
			b.p[k][j] *= f
			b.p[j][k] *= f
		}
	}
	b.p[level][level] += drift * dt
	b.p[rate][rate] += wander * dt
}

// row is how the state shows in a reading: kFast and kSlow are the lagged
// temperatures, hPa the room's pressure, all relative to the begin of the hold.
func row(kFast, kSlow, room float64) [states]float64 {
	return [states]float64{level: 1, settle0: -1, settle1: -1, settle2: -1, settle3: -1,
		warmFast: kFast, warmSlow: kSlow, baro: room}
}

// foresee returns what the reading should be, relative to the first, and the
// variance of that before the reading's own noise, with the gain before scaling.
func (b *bag) foresee(h *[states]float64) (y, v float64, ph [states]float64) {
	for i := range states {
		y += h[i] * b.x[i]
		for j := range states {
			ph[i] += b.p[i][j] * h[j]
		}
	}
	for i := range states {
		v += h[i] * ph[i]
	}
	return y, v, ph
}

// learn corrects the state by the difference d of the reading from what was
// foreseen; s is the variance of d.
func (b *bag) learn(d, s float64, ph *[states]float64) {
	for i := range states {
		k := ph[i] / s
		b.x[i] += k * d
		for j := range states {
			b.p[i][j] -= k * ph[j]
		}
	}
}

// settling is how fast the settling still raises the pressure, and the standard
// deviation of that, Pa/s.
func (b *bag) settling() (mean, sd float64) {
	v := 0.0
	for i := range settleParts {
		mean += b.x[settle0+i] / b.tau[i]
		for j := range settleParts {
			v += b.p[settle0+i][settle0+j] / (b.tau[i] * b.tau[j])
		}
	}
	return mean, math.Sqrt(math.Max(0, v))
}

func sq(x float64) float64 { return x * x }
