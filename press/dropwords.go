package press

import "fmt"

// dropSentence says in plain words where a drop test is, or what came of it.
func (w words) dropSentence(t DropTest) string {
	switch t.State {
	case DropPump:
		return fmt.Sprintf("Drop test: pump the bag down, well past %s. Then shut the valve, stop the pump "+
			"and take your hands off.", w.pa(t.FloorPa))
	case DropShut:
		return "Drop test: shut the valve, stop the pump, hands off. Measuring begins when the vacuum shows that, " +
			"or when you say so."
	case DropSettle, DropMeasure:
		return w.dropGoesOn(t)
	}
	return w.dropEnded(t)
}

func (w words) pa(n Num) string   { return w.d.Pressure(float64(n)) }
func (w words) rate(n Num) string { return w.d.Rate(float64(n)) }
func (w words) need(t DropTest) string {
	return fmt.Sprintf("stay above %s for %s untouched", w.pa(t.FloorPa), w.d.SpanSeconds(float64(t.HoldS)))
}

func (w words) dropGoesOn(t DropTest) string {
	s := "Drop test: hands off, the air in the bag is still settling."
	if t.State == DropMeasure {
		s = "Drop test: hands off, measuring."
	}
	if t.LeftS.Known() && t.LeftS > 0 && t.LeftS < 12*3600 {
		s += fmt.Sprintf(" About %s to go.", w.span(float64(t.LeftS)))
	}
	if !t.Rate.High.Known() || !t.Allowed.Known() {
		return s + " Nothing can be said of the leak yet."
	}
	if t.Rate.Low <= 0 {
		return s + fmt.Sprintf(" The leak is at most %s so far; %s are allowed.", w.rate(t.Rate.High), w.rate(t.Allowed))
	}
	return s + fmt.Sprintf(" The leak is between %s and %s; %s are allowed.", w.rate(t.Rate.Low), w.rate(t.Rate.High), w.rate(t.Allowed))
}

// leakIs is the leak with its bounds, or its upper bound where that is all there is.
func (w words) leakIs(t DropTest) string {
	if t.Rate.Low <= 0 {
		return "at most " + w.rate(t.Rate.High)
	}
	return fmt.Sprintf("%s (%s to %s)", w.rate(t.Rate.Expected), w.rate(t.Rate.Low), w.rate(t.Rate.High))
}

func (w words) dropEnded(t DropTest) string {
	switch t.Outcome {
	case DropHolds:
		return fmt.Sprintf("The bag holds. It leaks %s; to %s it may leak %s.", w.leakIs(t), w.need(t), w.rate(t.Allowed))
	case DropFails:
		if !(t.Allowed > 0) {
			return fmt.Sprintf("The bag does not hold: its vacuum is below %s already. Find the leak, seal it and test again.", w.pa(t.FloorPa))
		}
		every := float64(t.Allowed) * float64(t.HoldS) / float64(t.Rate.High)
		return fmt.Sprintf("The bag does not hold. It leaks %s; to %s it may leak %s. Find the leak and seal it, "+
			"or top up every %s.", w.leakIs(t), w.need(t), w.rate(t.Allowed), w.d.SpanSeconds(every))
	case DropCannotTell:
		s := fmt.Sprintf("The drop test cannot tell: %s were too short for the noise and the settling that there are. ", w.d.SpanSeconds(float64(t.TookS)))
		if !t.Rate.High.Known() {
			return s + "Nothing can be said of the leak."
		}
		return s + fmt.Sprintf("The leak is %s; to %s it may be %s. Wait longer, or plan to top up.",
			w.leakIs(t), w.need(t), w.rate(t.Allowed))
	}
	return "The drop test was broken off: " + brokenOff(t.Reason)
}

// brokenOff says why, and what to do.
func brokenOff(reason string) string {
	switch reason {
	case "cancelled":
		return "you ended it."
	case "pumped":
		return "somebody pumped. Leave the pump alone and begin again."
	case "sensor":
		return "the sensor gives no reading that can be believed. See to it and begin again."
	case "line_blocked":
		return "the sensor does not seem to see the bag. Follow the hose, then begin again."
	case "gap":
		return "nothing was recorded for a while. Begin again."
	case "restart":
		return "nightclamp was restarted, or the run was worked out again. Begin again."
	case "released":
		return "the bag was opened."
	case "no_vacuum":
		return "nobody pumped the bag down. Begin again when you are ready."
	}
	return reason + "."
}

// emptyBag is the sentence of a run that is the test of an empty bag.
func (w words) emptyBag() string {
	t := w.st.DropTest
	if t == nil {
		return "The empty bag is tested; nothing is watched. With glue in it say `nightclamp start`."
	}
	s := t.Sentence
	if t.Running() || w.st.Stage == Release {
		return s
	}
	return s + " The bag counts as empty and is not watched: open it, or with glue in it say `nightclamp start`."
}
