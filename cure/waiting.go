package cure

import "math"

// Waiting counts the assembly time from the first glue until the stack is under
// vacuum. Its zero value is not ready; use [NewWaiting].
//
// Mixed use is proportional: a third of the open time used leaves two thirds of
// the closed (the assembly rule of a resorcinol in a light-aircraft construction
// manual, 2002), and so is time at different temperatures.
type Waiting struct {
	sheet   *Sheet
	started bool
	t       float64
	phase   Phase
	perS    float64 // share used per second
	warmest float64 // °C; what a missing temperature is taken for
	used    float64
	at      float64 // °C, now
}

// Wait is where the assembly time stands.
type Wait struct {
	Known   bool    // the sheet gives a limit for this phase
	Used    float64 // share of the assembly time, 0..; from 1 on it is over
	LeftS   float64 // s left if it goes on like this; 0 when over, +Inf when not known
	OpenS   float64 // whole limits at the present temperature, s; NaN where the sheet gives none
	ClosedS float64
	// Short: so little is left that one must act now: a quarter of the limit, at
	// least three minutes, at most half of the limit.
	Short bool
	Over  bool
}

// warmGuess, °C, stands for a temperature that was never measured: warm, so that
// the time is rather too short.
const warmGuess = 25.0

// NewWaiting begins with the first glue.
func NewWaiting(s *Sheet) *Waiting { return &Waiting{sheet: s, warmest: math.Inf(-1)} }

// Add says how warm the glue is at t (s; NaN when not known: then the warmest
// so far counts, or 25 °C) and in which phase it is from now on. A t that goes
// back is ignored.
func (w *Waiting) Add(t, atC float64, phase Phase) {
	if w.started && !(t >= w.t) {
		return
	}
	if w.started {
		w.used += w.perS * (t - w.t)
	}
	if math.IsNaN(atC) {
		atC = w.warmest
		if math.IsInf(atC, -1) {
			atC = warmGuess
		}
	} else {
		w.warmest = math.Max(w.warmest, atC)
	}
	w.started, w.t, w.phase, w.at = true, t, phase, atC
	w.perS = 0
	if limit, ok := w.sheet.Assembly(phase, atC); ok {
		w.perS = 1 / math.Max(limit.Seconds(), 1)
	}
}

// State is where the assembly time stands at the last Add.
func (w *Waiting) State() Wait {
	s := Wait{Used: w.used, LeftS: math.Inf(1), OpenS: w.limit(Open), ClosedS: w.limit(Closed)}
	s.Known = w.perS > 0
	s.Over = w.used >= 1
	switch {
	case s.Over:
		s.LeftS = 0
	case s.Known:
		s.LeftS = (1 - w.used) / w.perS
		whole := 1 / w.perS
		s.Short = s.LeftS <= math.Min(whole/2, math.Max(180, whole/4))
	}
	return s
}

func (w *Waiting) limit(p Phase) float64 {
	if d, ok := w.sheet.Assembly(p, w.at); ok && w.started {
		return d.Seconds()
	}
	return math.NaN()
}
