package sim

import (
	"math"
	"time"
)

// lags are the first-order lags of the bag. Their gains depend on the step
// alone, which seldom changes, so they are kept.
type lags struct {
	cfg           Vessel
	gas, glueline float64 // °C
	vapour        float64 // Pa, what the vapour tends to

	step                              time.Duration
	gasGain, gluelineGain, vapourGain float64
	pocketGain                        []float64
	vapourAge                         time.Duration
}

func (l *lags) advance(step time.Duration, air float64) {
	if step != l.step {
		l.retune(step)
	}
	l.gas += (air - l.gas) * l.gasGain
	l.glueline += (air - l.glueline) * l.gluelineGain
	// The glue line moves by millikelvins in a second: saturation can wait.
	if l.vapourAge += step; l.vapourAge >= time.Second || l.vapour == 0 {
		l.vapour = l.cfg.WaterActivity * SaturationPa(l.glueline)
		l.vapourAge = 0
	}
}

func (l *lags) retune(step time.Duration) {
	l.step = step
	dt := step.Seconds()
	l.gasGain = gain(dt, l.cfg.GasLag)
	l.gluelineGain = gain(dt, l.cfg.GluelineLag)
	l.vapourGain = 0
	if l.cfg.WaterActivity > 0 {
		l.vapourGain = gain(dt, l.cfg.VapourLag)
	}
	if l.pocketGain == nil {
		l.pocketGain = make([]float64, len(l.cfg.Pockets))
	}
	for i, p := range l.cfg.Pockets {
		l.pocketGain[i] = gain(dt, p.Lag)
	}
}

// gain is the share of a difference that is made good in dt seconds.
func gain(dt float64, lag time.Duration) float64 {
	if lag <= 0 {
		return 1
	}
	return -math.Expm1(-dt / lag.Seconds())
}
