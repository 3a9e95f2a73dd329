package press

import (
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/press/units"
)

// Sentence says in plain words what st means, for one reader. It is the same on
// the page, in the terminal and in a message; the first sentence of it answers
// the question, the last says what to do.
func Sentence(st Status, d units.Display) string { return words{st: st, d: d}.sentence() }

func (w words) sentence() string {
	if w.st.Work == EmptyBag && w.st.Stage != Idle {
		return w.emptyBag()
	}
	switch w.st.Stage {
	case Layup:
		return w.layup()
	case Pulldown:
		return w.pulldown()
	case Hold:
		return w.hold()
	case Release:
		return w.released()
	}
	return "No run on this press. It begins with `nightclamp start`, or by itself when the vacuum is drawn."
}

type words struct {
	st      Status
	d       units.Display
	elapsed time.Time // when set, moments are told as time since it
}

// clock writes a moment no finer than it is known: what is hours away is not
// known to the minute.
func (w words) clock(t time.Time) string {
	if !w.elapsed.IsZero() {
		return fmt.Sprintf("%.1f h", t.Sub(w.elapsed).Hours())
	}
	return w.d.Clock(w.coarse(t), w.st.Time)
}

func (w words) coarse(t time.Time) time.Time {
	if t.Before(w.st.Time) {
		return t.Truncate(time.Minute) // as every clock shows what was
	}
	return t.Round(w.step(t))
}

// by writes a moment by which something must be done: never later than it is.
func (w words) by(t time.Time) string {
	return w.clock(t.Truncate(w.step(t)))
}

func (w words) step(t time.Time) time.Duration {
	switch ahead := t.Sub(w.st.Time); {
	case ahead < 2*time.Hour:
		return time.Minute
	case ahead < 6*time.Hour:
		return 5 * time.Minute
	case ahead < 24*time.Hour:
		return 10 * time.Minute
	}
	return time.Hour
}

// span writes a margin (s) no finer than it is known.
func (w words) span(s float64) string {
	d := time.Duration(s * float64(time.Second))
	switch {
	case d >= 3*time.Hour:
		d = d.Round(time.Hour)
	case d >= time.Hour:
		d = d.Round(30 * time.Minute)
	case d >= 10*time.Minute:
		d = d.Round(5 * time.Minute)
	}
	return w.d.Span(d)
}

func (w words) vacuum() string { return w.d.Pressure(float64(w.st.VacuumPa)) }
func (w words) floor() string  { return w.d.Pressure(float64(w.st.FloorPa)) }

func (w words) has(k Kind) (Condition, bool) {
	for _, c := range w.st.Conditions {
		if c.Kind == k {
			return c, true
		}
	}
	return Condition{}, false
}

func (w words) blind() (string, bool) {
	for _, c := range w.st.Conditions {
		if c.Quantity != "bag" && (c.Quantity != "ambient" || w.st.VacuumPa.Known()) {
			continue
		}
		part := "bag sensor"
		if c.Quantity == "ambient" {
			part = "barometer"
		}
		switch c.Kind {
		case SensorSilent:
			return fmt.Sprintf("No reading from the %s since %s: nobody knows whether the bag holds. "+
				"Look at the bag and the sensor.", part, w.clock(c.Since)), true
		case SensorStuck:
			return fmt.Sprintf("The %s has shown one and the same value since %s and is not believed: "+
				"nobody knows whether the bag holds. Look at the bag and the sensor.", part, w.clock(c.Since)), true
		case SensorJumped:
			return fmt.Sprintf("The %s jumped at %s as no bag does and is not believed. "+
				"Look at the bag and the sensor.", part, w.clock(c.Since)), true
		}
	}
	return "", false
}

func (w words) layup() string {
	limit := w.st.ClosedLimit
	if limit.IsZero() {
		limit = w.st.OpenLimit
	}
	if limit.IsZero() && w.st.Glue == "" {
		return "Laying up. No adhesive is set, so nothing is known of its assembly time: get the stack under vacuum while it is wet."
	}
	if limit.IsZero() {
		return "Laying up. No assembly time is known for this glue: get the stack under vacuum while it is wet."
	}
	if _, over := w.has(AssemblyOver); over {
		return fmt.Sprintf("The assembly time ran out at %s. Do as the glue's datasheet says: "+
			"a joint pressed now may not hold.", w.clock(limit))
	}
	return fmt.Sprintf("Laying up. The stack must be under vacuum by %s, in %s.",
		w.by(limit), w.d.Span(limit.Sub(w.st.Time)))
}

func (w words) pulldown() string {
	return fmt.Sprintf("Pulling down: %s of vacuum, the floor is %s.", w.vacuum(), w.floor())
}

func (w words) released() string {
	switch w.st.Verdict {
	case Pressed:
		return "Released. The whole press time was earned under clamp."
	case PartClamped:
		return fmt.Sprintf("Released. The press time was earned, but only %s of it above the %s floor. %s",
			percent(w.st.ClampedProgress.Expected), w.floor(), w.unclamped())
	case FilmLost:
		return "Released. The glue was below its minimum temperature while wet: do not trust the bond."
	case OpenedEarly:
		return fmt.Sprintf("Released early, with %s of the press time earned under clamp. "+
			"Expect springback, and do not load it before the glue has cured.", percent(w.st.ClampedProgress.Expected))
	}
	return "Released. No adhesive was set, so nothing can be said of the cure."
}

// unclamped says what a loss of the clamp usually means at that point of the
// cure, without promising strength. Common practice, no source.
func (w words) unclamped() string {
	from := w.st.UnclampedFrom
	switch {
	case !from.Known():
		return ""
	case from < wetShare:
		return fmt.Sprintf("The clamp was first lost at %s of the cure, while the glue was wet: "+
			"what was pressed again soon may have closed. Look along the edges.", percent(from))
	}
	return fmt.Sprintf("The clamp was first lost at %s of the cure, when the glue had begun to set: "+
		"a joint that opened then is not closed by later pressure. Tap and look along the edges.", percent(from))
}

// wetShare is the share of the press time up to which a glue line still flows
// enough to be pressed together again. Common practice, no source.
const wetShare = 0.15

func percent(n Num) string {
	if !n.Known() {
		return "–"
	}
	return fmt.Sprintf("%.0f %%", math.Floor(100*float64(n)))
}

// hold answers in the order in which a sleeper must know.
func (w words) hold() string {
	if blind, yes := w.blind(); yes {
		return blind
	}
	if blocked, yes := w.hoseSentence(); yes {
		return blocked
	}
	if c, lost := w.has(VacuumLost); lost {
		return w.lost(c)
	}
	if w.st.Lost {
		return fmt.Sprintf("The glue was below its minimum of %s while wet: the film is taken as lost. "+
			"%s Warming now does not mend it; test the squeeze-out before you trust this bond.",
			w.d.Temperature(float64(w.st.MinUseC)), w.holding())
	}
	if _, below := w.has(BelowFloor); below {
		return fmt.Sprintf("Below the floor: %s of vacuum, the floor is %s. %sPump and re-seal now.",
			w.vacuum(), w.floor(), w.rateClause())
	}
	if w.st.Verdict == Done {
		return w.done()
	}
	if w.st.Glue == "" {
		return w.holding() + " No adhesive is set, so the press time is not known: set it with `nightclamp glue set`."
	}
	if c, cold := w.has(TooCold); cold {
		return fmt.Sprintf("Too cold since %s: the glue line is at %s and this glue needs %s. %s %s",
			w.clock(c.Since), w.d.Temperature(float64(w.st.GluelineC)), w.minimum(), w.holding(), w.heat())
	}
	return w.forecast()
}

func (w words) minimum() string { return w.d.Temperature(float64(w.st.MinUseC)) }

// heat says by when warmth must come, and why.
func (w words) heat() string {
	switch by := w.by(w.st.HeatBy); {
	case w.st.HeatBy.IsZero():
		return "Warm the bag: until then no press time is earned."
	case !w.st.HeatBy.After(w.st.Time) && w.st.HeatFor == HeatForFilm:
		return "Warm the bag at once: the film is about to be lost."
	case !w.st.HeatBy.After(w.st.Time):
		return "Warm the bag now and top up: even warmed, the glue may not be done before the bag is below the floor."
	case w.st.HeatFor == HeatForFilm && w.st.FilmLostAt.IsZero():
		return fmt.Sprintf("It should be warm again in time; to be sure of the film, warm the bag by %s.", by)
	case w.st.HeatFor == HeatForFilm:
		return fmt.Sprintf("Warm the bag by %s, or the film is lost.", by)
	default:
		return fmt.Sprintf("Warm the bag by %s, or it may not hold until the glue is done.", by)
	}
}

func (w words) holding() string { return "Holding at " + w.vacuum() + "." }

func (w words) lost(c Condition) string {
	s := fmt.Sprintf("Vacuum lost at %s: %s left.", w.clock(c.Since), w.vacuum())
	if w.st.Glue == "" {
		return s + " Re-seal and pump now."
	}
	return s + fmt.Sprintf(" The glue has %s of its press time. Re-seal and pump now.",
		percent(w.st.ClampedProgress.Expected))
}

// rateClause is "Leaking 2.1 kPa/h since 01:12. ", or nothing.
func (w words) rateClause() string {
	switch {
	case !w.st.Leaking:
		return ""
	case !w.st.LeakRate.Expected.Known():
		return fmt.Sprintf("A leak was found at %s; how large it is now is being measured. ", w.clock(w.st.LeakOnset))
	}
	return fmt.Sprintf("Leaking %s since %s. ",
		w.d.Rate(float64(w.st.LeakRate.Expected)), w.clock(w.st.LeakOnset))
}

func (w words) done() string {
	s := fmt.Sprintf("The glue has reached its press time. %s", w.holding())
	if late := w.st.PressTimeAt.Late; late.After(w.st.Time) {
		return s + fmt.Sprintf(" To be on the safe side leave it until %s.", w.clock(late))
	}
	return s + " Open the bag when you like."
}

// pressTime is "Glue reaches its press time at 09:50 (08:40 to 11:30)."
func (w words) pressTime() string {
	at := w.st.PressTimeAt
	if at.Expected.IsZero() {
		return w.noPressTime()
	}
	s := "Glue reaches its press time at " + w.clock(at.Expected)
	switch {
	case at.Early.IsZero():
	case at.Late.IsZero():
		s += fmt.Sprintf(" (not before %s; much later should it fall below %s)", w.near(at.Early, at.Expected), w.minimum())
	default:
		s += fmt.Sprintf(" (%s to %s)", w.near(at.Early, at.Expected), w.near(at.Late, at.Expected))
	}
	return s + "."
}

// noPressTime says why no end is in sight, and what would bring it.
func (w words) noPressTime() string {
	s := "The glue does not reach its press time unless the glue line warms up and stays above " + w.minimum()
	if !w.st.PressTimeAt.Early.IsZero() {
		return s + fmt.Sprintf(", and not before %s.", w.clock(w.st.PressTimeAt.Early))
	}
	return s + "."
}

// near writes t without the day where it is the day of a time just named.
func (w words) near(t, named time.Time) string {
	zone := w.d.Location
	if zone == nil {
		zone = time.UTC
	}
	y1, m1, d1 := w.coarse(t).In(zone).Date()
	y2, m2, d2 := w.coarse(named).In(zone).Date()
	if w.elapsed.IsZero() && y1 == y2 && m1 == m2 && d1 == d2 {
		return w.d.TimeOfDay(w.coarse(t))
	}
	return w.clock(t)
}

func (w words) forecast() string {
	switch w.st.Verdict {
	case WillHold:
		return w.willHold()
	case WillNotHold:
		return w.willNotHold()
	case InDoubt:
		return w.inDoubt()
	}
	if w.st.Time.Sub(w.st.StageAt) > 30*time.Minute {
		return fmt.Sprintf("%s The bag is still settling; too early to say for how long it holds. %s", w.holding(), w.pressTime())
	}
	return fmt.Sprintf("%s The bag is settling; look at it in the first half hour. %s", w.holding(), w.pressTime())
}

// slight is how far off, s, the floor must be beyond the press time for a leak
// to be spoken of last and not first.
const slight = 12 * 3600

func (w words) willHold() string {
	parts := []string{w.holding(), w.pressTime(), w.staysAbove(), w.sleep()}
	if !w.st.Leaking {
		return strings.Join(parts, " ")
	}
	if w.st.LeakRate.Expected.Known() && (!w.st.MarginS.Low.Known() || w.st.MarginS.Low > slight) {
		parts[0] = fmt.Sprintf("Holding at %s with a slight leak of %s.",
			w.vacuum(), w.d.Rate(float64(w.st.LeakRate.Expected)))
		return strings.Join(parts, " ")
	}
	return fmt.Sprintf("%sSlow enough: the floor comes at %s, %s after the glue is done at %s. %s",
		w.rateClause(), w.clock(w.st.FloorAt.Expected),
		w.span(float64(w.st.MarginS.Expected)), w.clock(w.st.PressTimeAt.Expected), w.sleep())
}

// sleep is what to do about a bag that holds: nothing, or keep out the cold.
func (w words) sleep() string {
	if w.st.ColdAt.IsZero() {
		return "Sleep."
	}
	return fmt.Sprintf("But the glue line is expected below %s at about %s: cover the bag or warm it before then.", w.minimum(), w.clock(w.st.ColdAt))
}

// staysAbove says how far the floor is off, by the most pessimistic bound.
func (w words) staysAbove() string {
	early, s := w.st.FloorAt.Early, "The bag stays above your "+w.floor()+" floor "
	switch {
	case early.IsZero():
		return s + "for as long as can be foreseen."
	case w.st.MarginS.Low > 2*24*3600:
		return s + "for days beyond that."
	}
	return s + "past " + w.by(early) + "."
}

func (w words) willNotHold() string {
	if w.st.PressTimeAt.Expected.IsZero() {
		return fmt.Sprintf("%sBelow the floor at %s, and the glue is not done unless it warms up and stays above %s. "+
			"Warm the bag, and top up %s.", w.rateClause(), w.floorAt(), w.minimum(), w.beforeFloor())
	}
	return fmt.Sprintf("%sBelow the floor at %s, %s before the glue is done. Top up or re-seal %s.",
		w.rateClause(), w.floorAt(), w.span(-float64(w.st.MarginS.Expected)), w.beforeFloor())
}

// floorAt is when the floor is expected, and when it may come at the earliest:
// "04:30 (03:50 at the earliest)".
func (w words) floorAt() string {
	at := w.st.FloorAt
	s := w.clock(at.Expected)
	if early := w.by(at.Early); at.Early.After(w.st.Time) && early != s {
		s += " (" + early + " at the earliest)"
	}
	return s
}

// beforeFloor is by when something must have been done: before the earliest, so
// that the sentence and the alert name one deadline.
func (w words) beforeFloor() string {
	switch at := w.st.FloorAt; {
	case at.Early.IsZero():
		return "before " + w.by(at.Expected)
	case !at.Early.After(w.st.Time):
		return "now"
	default:
		return "before " + w.by(at.Early)
	}
}

// chance is the probability that the bag holds untouched, in tenths.
func (w words) chance() string {
	if c := w.st.HoldChance; c.Known() {
		return fmt.Sprintf("; untouched the bag holds in about %.0f nights of ten", 10*float64(c))
	}
	return ""
}

func (w words) inDoubt() string {
	s := w.rateClause()
	if s == "" {
		s = w.holding() + " "
	}
	early := w.st.FloorAt.Early
	if early.IsZero() {
		return s + w.pressTime()
	}
	return fmt.Sprintf("%s%s The floor may come as early as %s%s. Top up before you sleep, or look again by then.",
		s, w.pressTime(), w.by(early), w.chance())
}
