package cure

import "math"

// horizon, s, is how far Remaining looks ahead: two weeks. A press that takes
// longer is a press that is too cold.
const horizon = 14 * 24 * 3600.0

// ahead gives the length of the step that begins at a, s: fine where the answer
// mostly lies, coarse where only "days" matters.
func ahead(a float64) float64 {
	switch {
	case a < 12*3600:
		return 300
	case a < 48*3600:
		return 900
	}
	return 3600
}

// Remaining is how long until the clamped progress reaches 1 if the glue line
// goes on as forecast says and the clamp stays on, s; +Inf when never within
// two weeks, or when the film is lost. A nil forecast goes on as it is now.
//
// Low takes the most that can have been earned and the warm side of the
// forecast, High the least and the cold side.
func (p *Progress) Remaining(forecast Forecast) Band {
	if forecast == nil {
		forecast = Steady(p.c)
	}
	need := Band{1 - p.clampEarned.High, 1 - p.clampEarned.Expected, 1 - p.clampEarned.Low} // Low: needs the least
	left := Exactly(math.Inf(1))
	if p.isLost() {
		return left
	}
	c0 := forecast(0)
	r0 := p.rateBand(c0)
	for a := 0.0; a <= horizon; {
		dt := ahead(a)
		c1 := forecast(a + dt)
		r1 := p.rateBand(c1)
		reach(&left.Low, &need.Low, a, dt, gated(c0.High, c1.High, r0.High, r1.High, p.min, p.atMin.High))
		reach(&left.Expected, &need.Expected, a, dt, gated(c0.Expected, c1.Expected, r0.Expected, r1.Expected, p.min, p.atMin.Expected))
		reach(&left.High, &need.High, a, dt, gated(c0.Low, c1.Low, r0.Low, r1.Low, p.min, p.atMin.Low))
		if need.High <= 0 {
			break
		}
		a += dt
		c0, r0 = c1, r1
	}
	return left
}

// reach earns rate over the step of dt at a, and notes when need was met.
func reach(left, need *float64, a, dt, rate float64) {
	if *need <= 0 {
		*left = math.Min(*left, a)
		return
	}
	earned := rate * dt
	if earned >= *need {
		*left = a + dt**need/earned
	}
	*need -= earned
}
