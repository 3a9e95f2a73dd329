package sim

import (
	"math"
	"math/rand/v2"
	"time"
)

const day = 86400.0 // s

// weatherTick is how often the slow things are worked out again. They are
// drawn on this grid, whatever the caller's steps, so that the weather of a
// seed does not depend on how often the bag is read.
const weatherTick = time.Second

// weather is the room: its temperature and its barometer.
type weather struct {
	shop   Shop
	room   Room
	fronts []Front
	rng    *rand.Rand

	clock   float64       // s since midnight at the start
	tick    time.Duration // the last one worked out
	heating bool
	heat    float64 // K the heater adds now
	wanderC float64
	wanderP float64

	air     float64 // °C
	ambient float64 // Pa
	rootT   float64
}

func (w *weather) begin(clock float64) {
	w.clock = clock
	// Begin in the middle of the weather, not at its mean.
	w.wanderC = w.shop.WanderC * w.rng.NormFloat64()
	w.set(0)
}

func (w *weather) advance(at time.Duration) {
	now := at.Truncate(weatherTick)
	if now <= w.tick {
		return
	}
	since := (now - w.tick).Seconds()
	w.tick = now
	w.wanderC = w.wander(w.wanderC, w.shop.WanderC, since, w.shop.WanderLag)
	w.wanderP = w.wander(w.wanderP, w.room.WanderPa, since, w.room.WanderLag)
	w.heater(since)
	w.set(now.Seconds())
}

// wander is one step of a first-order random walk that stays near nothing.
func (w *weather) wander(value, sigma, dt float64, lag time.Duration) float64 {
	if sigma <= 0 {
		return 0
	}
	g := gain(dt, lag)
	return value*(1-g) + sigma*math.Sqrt(g*(2-g))*w.rng.NormFloat64()
}

func (w *weather) heater(dt float64) {
	if w.shop.HeaterK <= 0 {
		return
	}
	switch {
	case w.air < w.shop.HeaterOnC:
		w.heating = true
	case w.air > w.shop.HeaterOffC:
		w.heating = false
	}
	target := 0.0
	if w.heating {
		target = w.shop.HeaterK
	}
	w.heat += (target - w.heat) * gain(dt, w.shop.HeaterLag)
}

func (w *weather) set(at float64) {
	phase := 2 * math.Pi * (w.clock + at - w.shop.WarmestHour*3600) / day
	w.air = w.shop.MeanC + w.shop.SwingC*math.Cos(phase) + w.wanderC + w.heat
	w.rootT = math.Sqrt(standardRoomK / (w.air + zeroC))
	w.ambient = w.room.PressurePa + w.wanderP
	for _, f := range w.fronts {
		from, to := f.From.Seconds(), f.To.Seconds()
		w.ambient += f.ByPa * min(max((at-from)/(to-from), 0), 1)
	}
}
