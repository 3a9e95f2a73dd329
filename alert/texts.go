package alert

import (
	"fmt"
	"math"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/nightclamp/nightclamp/press"
)

// maxText is the longest text of an alert, in characters: it must be readable
// at a glance on a locked phone.
const maxText = 300

//nolint:gochecknoglobals // a constant in all but name: Go has no NaN constants.
var nan = math.NaN()

// The texts. Each says what happened, what to do now, by when, and what happens
// otherwise.

func vacuumLost(p picture) string {
	s := fmt.Sprintf("Vacuum lost at %s: %s left. ", p.clock(p.ev.Time), p.pressure(p.ev.VacuumPa))
	switch {
	case p.st.Verdict == press.Done:
		return s + "The glue has its press time, so nothing is lost."
	case p.st.Glue == "":
		return s + "Re-seal and pump at once: without clamp the glue line opens while it is soft."
	}
	return s + fmt.Sprintf("Re-seal and pump at once. The glue has %s of its press time; without clamp it earns no more, "+
		"and the joint opens while it is soft.", p.earned())
}

func belowFloor(p picture) string {
	s := fmt.Sprintf("Below the floor since %s: %s of vacuum, the floor is %s. ",
		p.clock(p.ev.Time), p.pressure(p.st.VacuumPa), p.floor())
	switch {
	case p.st.Verdict == press.Done:
		return s + "The glue is expected to have its press time." + p.safeFrom()
	case p.st.Glue == "":
		return s + "Pump and look for the leak now. No adhesive is set, so nobody can say how long the clamp is needed."
	}
	return s + fmt.Sprintf("Pump now and re-seal. The glue has %s of its press time and earns none below the floor; "+
		"too long without its clamp, the joint opens.", p.earned())
}

func (p picture) safeFrom() string {
	if late := p.st.PressTimeAt.Late; late.After(p.st.Time) {
		return fmt.Sprintf(" To be on the safe side pump once more and leave it until %s.", p.clock(late))
	}
	return ""
}

func marginGone(p picture) string {
	floor, done := p.ev.FloorAt, p.ev.PressTimeAt
	s := ""
	if p.st.Leaking {
		s = fmt.Sprintf("Leaking %s since %s. ", p.rate(p.st.LeakRate.Expected), p.clock(p.st.LeakOnset))
	}
	if p.st.FloorAt.Expected.After(p.st.Time) { // said again later: the newest forecast
		floor, done = p.st.FloorAt.Expected, p.st.PressTimeAt.Expected
	}
	by, early := floor, ""
	if first := p.st.FloorAt.Early; first.After(p.st.Time) && first.Before(floor) {
		by, early = first, fmt.Sprintf(" (%s at the earliest)", p.clock(first))
	}
	s += fmt.Sprintf("The bag falls below your %s floor at %s%s, ", p.floor(), p.clock(floor), early)
	switch {
	case !done.IsZero() && done.Before(floor):
		return s + fmt.Sprintf("only %s after the glue is done at %s. That is too near to rely on: top up before %s, or the clamp may go too soon.",
			p.show.Span(floor.Sub(done)), p.clock(done), p.clock(by))
	case done.IsZero():
		return s + fmt.Sprintf("and the glue is not done unless it stays above %s. Top up before %s and warm the bag; "+
			"otherwise it stays at about %s of its press time.", p.temperature(p.st.MinUseC), p.clock(by), p.earned())
	}
	return s + fmt.Sprintf("%s before the glue is done at %s. Top up or re-seal before %s; otherwise the glue cures without its clamp.",
		p.show.Span(done.Sub(floor)), p.clock(done), p.clock(by))
}

func floorNear(p picture) string {
	return fmt.Sprintf("%s of vacuum and falling: at the pace of the last half hour it is at your %s floor within the hour. "+
		"Look at the bag and top up now. The glue has %s of its press time; below the floor it earns no more.",
		p.pressure(p.st.VacuumPa), p.floor(), p.earned())
}

func leakFound(p picture) string {
	s := fmt.Sprintf("A leak of %s (%s to %s) since %s. ", p.rate(p.ev.RatePaPerH), p.rate(p.ev.RateLow), p.rate(p.ev.RateHigh), p.clock(p.ev.Onset))
	if !p.ev.FloorAt.IsZero() {
		s += fmt.Sprintf("At this rate the bag reaches the %s floor at %s. ", p.floor(), p.clock(p.ev.FloorAt))
	}
	if p.st.Verdict == press.WillHold {
		return s + fmt.Sprintf("The glue is done before that, at %s: nothing needs doing. You will be woken if that changes.",
			p.clock(p.st.PressTimeAt.Expected))
	}
	return s + "Look for it at the tape, the fittings and the pump valve when you are there. You will be woken if the margin goes."
}

func assemblyShort(p picture) string {
	return fmt.Sprintf("The assembly time ends at %s, in %s, and there is no vacuum yet. Close the bag and pump before then; "+
		"otherwise the glue skins over and the joint may not hold.", p.clock(p.ev.Limit), p.show.Span(p.ev.Limit.Sub(p.st.Time)))
}

func assemblyOver(p picture) string {
	return fmt.Sprintf("The assembly time ended at %s without vacuum. Act now, as the glue's datasheet says: open up and spread afresh "+
		"while it still can be opened. A joint pressed on skinned glue may not hold, and nobody sees it.", p.clock(p.ev.Limit))
}

func tooCold(p picture) string {
	return fmt.Sprintf("The glue line is at %s; this glue needs %s. ", p.temperature(p.coldNow()), p.temperature(p.ev.LimitC)) + p.heat()
}

// coldNow is the glue line as it is now, or as it was when it fell below.
func (p picture) coldNow() press.Num {
	if p.st.GluelineC.Known() {
		return p.st.GluelineC
	}
	return p.ev.GluelineC
}

// heat says by when warmth must come, and what happens otherwise.
func (p picture) heat() string {
	const safely = "with a heater that may run unattended"
	by := p.st.HeatBy
	switch now := !by.After(p.st.Time); {
	case by.IsZero():
		return "Warm the bag when you can, " + safely + ". The film waits, but below that it earns no press time, and the bag must hold the longer."
	case p.st.HeatFor == press.HeatForFilm && now:
		return "Warm the bag at once, " + safely + ": the wet film is about to be lost, and warmth does not mend it afterwards."
	case p.st.HeatFor == press.HeatForFilm && p.st.FilmLostAt.IsZero():
		return fmt.Sprintf("It is expected to be warm again in time; to be sure warm the bag by %s, %s. If it stays as cold after that, "+
			"the wet film is lost, and warmth does not mend it.", p.clock(by), safely)
	case p.st.HeatFor == press.HeatForFilm:
		return fmt.Sprintf("Warm the bag by %s, %s. After that the wet film is lost, and warmth does not mend it.", p.clock(by), safely)
	case now:
		return "Warm the bag now, " + safely + ", and top up: even if it is warm from now on, the bag may be below the floor before the glue is done."
	}
	return fmt.Sprintf("Warm the bag by %s, %s. Later than that, the bag may be below the floor before the glue is done. Until then it earns no press time.",
		p.clock(by), safely)
}

func coldComes(p picture) string {
	at, least := p.clock(p.st.ColdAt), p.temperature(p.st.MinUseC)
	s := fmt.Sprintf("The glue line, %s now, is expected below the %s that this glue needs at about %s. ", p.temperature(p.st.GluelineC), least, at)
	return s + fmt.Sprintf("Cover the bag or warm it before then, with a heater that may run unattended. "+
		"Below %s the glue earns no press time, and some films are spoiled within minutes.", least)
}

func filmLost(p picture) string {
	return fmt.Sprintf("The glue was below its minimum of %s while it was wet: take the film as lost. Warming does not mend it. "+
		"Decide while the glue is soft: open up, clean and glue again, or keep the clamp on and test the squeeze-out before you trust the joint.",
		p.temperature(p.st.MinUseC))
}

func pressTimeReached(p picture) string {
	s := fmt.Sprintf("The glue reached its press time at %s.", p.clock(p.ev.Time))
	if p.ev.Late.After(p.st.Time) {
		s += fmt.Sprintf(" To be on the safe side leave the bag until %s.", p.clock(p.ev.Late))
	} else {
		s += " The bag may be opened."
	}
	return s + " Handle the blank with care: full strength takes as long as the datasheet says."
}

func sensorSilent(p picture) string {
	return p.sensor(fmt.Sprintf("Nothing has come from %s since %s. ", p.parts(), p.clock(p.ev.Time)))
}

func sensorStuck(p picture) string {
	return p.sensor(fmt.Sprintf("Stuck at one value since %s and not believed: %s. ", p.clock(p.ev.Time), p.parts()))
}

func sensorJumped(p picture) string {
	return p.sensor(fmt.Sprintf("Jumped at %s as nothing in the shop does, and not believed: %s. ", p.clock(p.ev.Time), p.parts()))
}

// sensor says what a reading that is missing means.
func (p picture) sensor(what string) string {
	switch {
	case p.about("bag") || p.about("ambient"):
		return what + "Nobody knows whether the bag holds. Look now at the bag and its own gauge, then at plug and cable; " +
			"until then a leak goes unseen."
	case p.about("glueline"):
		return what + "The cure is counted by the air, or by the coldest that is plausible. Look at its plug and cable when you are there; " +
			"until then the glue may be later than told."
	}
	return what + "The bag is watched all the same. Look at its plug and cable when you are there."
}

func sensorDisagrees(p picture) string {
	return fmt.Sprintf("The glue-line probe shows %s since %s, where air of %s cannot have brought it: it lies loose, or beside the bag. "+
		"Put it back under the bag when you are there; until then the cure is counted by it, and may be wrong.",
		p.temperature(p.st.GluelineC), p.clock(p.ev.Time), p.temperature(p.st.AirC))
}

func lineBlocked(p picture) string {
	why := "the readings went quiet"
	switch p.ev.Reason {
	case press.LineNoResponse:
		why = "you pumped and it saw nothing of it"
	case press.LineQuick:
		why = "pumping moved it as if there were only a hose"
	}
	return fmt.Sprintf("The sensor does not see the bag since %s: %s. Follow the hose from the sensor to the bag now: look for a kink, a clip, "+
		"a shut valve, glue in the line. Until then a leak goes unseen, whatever the gauge says, and the glue earns no press time.", p.clock(p.ev.Time), why)
}

func gap(p picture) string {
	if p.ev.Run == "" { // what is known of a press without a run is kept by the hour
		return fmt.Sprintf("Nobody watched for up to %s before %s: no power, or nightclamp was not running. "+
			"No run was on the press, so nothing is lost. See to its mains supply before the next one.",
			p.show.Span(p.ev.To.Sub(p.ev.From)), p.clock(p.ev.To))
	}
	s := fmt.Sprintf("Nobody watched from %s to %s (%s): no power, or nightclamp was not running. ",
		p.clock(p.ev.From), p.clock(p.ev.To), p.show.Span(p.ev.To.Sub(p.ev.From)))
	if !p.st.VacuumPa.Known() || p.st.Stage != press.Hold {
		return s + "Look at the press and at its mains supply."
	}
	if p.st.VacuumPa < p.st.FloorPa {
		return s + fmt.Sprintf("The vacuum is %s now, below the %s floor. Pump at once; the glue has %s of its press time.",
			p.pressure(p.st.VacuumPa), p.floor(), p.earned())
	}
	s += fmt.Sprintf("The vacuum is %s now, above the floor. For that time the glue is credited only what is sure", p.pressure(p.st.VacuumPa))
	switch done := p.st.PressTimeAt.Expected; {
	case p.st.Glue == "":
	case done.After(p.st.Time):
		s += fmt.Sprintf(": %s so far, done at %s", p.earned(), p.clock(done))
	default:
		s += fmt.Sprintf(": %s so far", p.earned())
	}
	return s + ". Look at the supply in case it fails again."
}

func bagWorsening(p picture) string {
	leak := ""
	if p.ev.RatePaPerH.Known() {
		leak = p.rate(p.ev.RatePaPerH) + " in this one, "
	}
	return fmt.Sprintf("This bag leaks more from run to run: %s%.1f times as much as the first of the %.0f runs compared. "+
		"Before the next press look at the seal, the hose and its fittings, and test the empty bag: nightclamp drop-test. "+
		"Else one night it will not hold. The run that is over is not affected.", leak, p.ev.Factor.Or(0), p.ev.Runs.Or(0))
}

func clockStepped(p picture) string {
	by, way := time.Duration(math.Abs(p.ev.ByS.Or(0))*float64(time.Second)), "forward"
	if p.ev.ByS.Or(0) < 0 {
		way = "back"
	}
	return fmt.Sprintf("The board's clock was set %s by %s. Times told before may be off by as much; the vacuum and the cure are not. "+
		"Nothing needs doing.", way, p.show.Span(by))
}

// over is what people are told when the problem has ended.
func over(r row, a press.Alert, p picture) string {
	return short(fmt.Sprintf("Over: %s (since %s). %s", r.about, p.clock(a.RaisedAt), press.Sentence(p.st, p.show)))
}

func percent(n press.Num) string {
	if !n.Known() {
		return "an unknown share"
	}
	return fmt.Sprintf("%.0f %%", math.Floor(100*math.Min(1, float64(n))))
}

// short cuts s at the last word that fits.
func short(s string) string {
	if utf8.RuneCountInString(s) <= maxText {
		return s
	}
	cut := string([]rune(s)[:maxText-1])
	if i := strings.LastIndexByte(cut, ' '); i > 0 {
		cut = cut[:i]
	}
	return strings.TrimRight(cut, " ,;:") + "…"
}

func pumpLocked(p picture) string {
	why := ""
	if p.ev.Text != "" {
		why = ": " + p.ev.Text
	}
	return fmt.Sprintf("The pump is not switched on any more%s. Look at pump, valve and bag now (%s of vacuum), then say top-up; until then nothing tops the bag up.",
		why, p.pressure(p.st.VacuumPa))
}
