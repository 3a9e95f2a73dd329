package alert

import (
	"slices"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/pump"
)

// row is one alert: everything that is particular to it.
type row struct {
	name      string
	about     string       // in a few words, for a title
	raise     []press.Kind // events that raise it
	clear     []press.Kind // events that end its problem
	swallows  []string     // alerts that are part of this problem
	severity  func(picture) press.Severity
	text      func(picture) string
	told      []press.Kind                                   // of clear: those that people are told of
	wait      bool                                           // waits while the bag may be about to open
	lasting   time.Duration                                  // not told before it has lasted so long; 0: at once
	again     func(picture) bool                             // whether it stands: else it is not reminded of, nor said when what swallowed it is over
	holds     func(b *Book, st press.Status, open bool) bool // for what no event tells of: whether it is so
	lasts     time.Duration                                  // over by itself after this long; 0: not
	reminders int                                            // at most; 0: as many as it takes
}

// The names of the alerts, as in nightclamp.<site>.<press>.alert.<name>.
const (
	VacuumLost       = "vacuum_lost"
	BelowFloor       = "below_floor"
	FloorNear        = "floor_near"
	MarginGone       = "margin_gone"
	LeakFound        = "leak_found"
	AssemblyShort    = "assembly_short"
	AssemblyOver     = "assembly_over"
	TooCold          = "too_cold"
	ColdAhead        = "cold_ahead"
	FilmLost         = "film_lost"
	PressTimeReached = "press_time_reached"
	SensorSilent     = "sensor_silent"
	SensorStuck      = "sensor_stuck"
	SensorJumped     = "sensor_jumped"
	SensorDisagrees  = "sensor_disagrees"
	LineBlocked      = "line_blocked"
	Gap              = "gap"
	ClockStepped     = "clock_stepped"
	PumpLocked       = "pump_locked"
	BagWorsening     = "bag_worsening"
)

// blindFor is how long a part must be ill before anybody is told. A loose contact
// or a glitch on the line mostly mends itself within it, and in two minutes of
// not knowing no bag that was well loses what it had in hand.
const blindFor = 2 * time.Minute

// table lists every alert, the greater problem before those it swallows.
// Every one of them is also over when the run is.
func table() []row {
	return []row{
		{
			name: VacuumLost, about: "vacuum lost",
			raise: []press.Kind{press.VacuumLost}, clear: []press.Kind{press.AboveFloor},
			told:     []press.Kind{press.AboveFloor},
			swallows: []string{BelowFloor, FloorNear, MarginGone, LeakFound},
			severity: unlessDone(press.Wake), text: vacuumLost,
		},
		{
			name: BelowFloor, about: "below the floor",
			raise: []press.Kind{press.BelowFloor}, clear: []press.Kind{press.AboveFloor},
			told:     []press.Kind{press.AboveFloor},
			swallows: []string{FloorNear, MarginGone, LeakFound},
			severity: floorSeverity, text: belowFloor, wait: true, again: stays(press.BelowFloor),
		},
		{
			// Whatever was foreseen from readings that were not the bag's is part of it.
			name: LineBlocked, about: "the sensor does not see the bag",
			raise: []press.Kind{press.LineBlocked}, clear: []press.Kind{press.LineBack},
			told:     []press.Kind{press.LineBack},
			swallows: []string{FloorNear, MarginGone, LeakFound, SensorStuck},
			severity: unlessDone(press.Wake), text: lineBlocked,
		},
		{
			// The net under the others: whatever the estimates are certain of,
			// nobody sleeps while the gauge itself goes to the floor.
			name: FloorNear, about: "the floor is near", holds: floorIsNear,
			swallows: []string{MarginGone, LeakFound},
			severity: always(press.Wake), text: floorNear, wait: true,
		},
		{
			name: MarginGone, about: "the bag will not hold",
			raise: []press.Kind{press.MarginGone}, clear: []press.Kind{press.MarginBack, press.PressTimeReached},
			told:     []press.Kind{press.MarginBack},
			swallows: []string{LeakFound},
			severity: marginSeverity, text: marginGone, wait: true, again: willNotHold,
		},
		{
			name: LeakFound, about: "a leak",
			raise: []press.Kind{press.LeakFound}, clear: []press.Kind{press.LeakEnded},
			severity: always(press.Note), text: leakFound, wait: true,
		},
		{
			name: AssemblyOver, about: "assembly time is over",
			raise: []press.Kind{press.AssemblyOver}, clear: []press.Kind{press.HoldStarted},
			swallows: []string{AssemblyShort}, reminders: 3,
			severity: always(press.Wake), text: assemblyOver,
		},
		{
			name: AssemblyShort, about: "assembly time is nearly over",
			raise: []press.Kind{press.AssemblyShort}, clear: []press.Kind{press.HoldStarted, press.AssemblyOver},
			severity: always(press.Warn), text: assemblyShort,
		},
		{
			name: FilmLost, about: "the glue film is lost", holds: filmIsLost, reminders: 1,
			swallows: []string{TooCold, ColdAhead},
			severity: always(press.Warn), text: filmLost,
		},
		{
			name: TooCold, about: "too cold for the glue",
			raise: []press.Kind{press.TooCold}, clear: []press.Kind{press.WarmEnough},
			told:     []press.Kind{press.WarmEnough},
			swallows: []string{ColdAhead},
			severity: coldSeverity, text: tooCold,
		},
		{
			name: ColdAhead, about: "it will be too cold for the glue", holds: coldIsAhead,
			severity: always(press.Warn), text: coldComes, lasting: coldSure, reminders: 1,
		},
		{
			name: PressTimeReached, about: "press time reached",
			raise:    []press.Kind{press.PressTimeReached},
			severity: always(press.Note), text: pressTimeReached,
		},
		{
			name: SensorSilent, about: "a sensor is silent",
			raise: []press.Kind{press.SensorSilent}, clear: []press.Kind{press.SensorBack},
			told:     []press.Kind{press.SensorBack},
			severity: sensorSeverity, text: sensorSilent, lasting: blindFor,
		},
		{
			name: SensorStuck, about: "a sensor is stuck",
			raise: []press.Kind{press.SensorStuck}, clear: []press.Kind{press.SensorBack},
			told:     []press.Kind{press.SensorBack},
			severity: sensorSeverity, text: sensorStuck, lasting: blindFor,
		},
		{
			name: SensorJumped, about: "a sensor jumped",
			raise: []press.Kind{press.SensorJumped}, clear: []press.Kind{press.SensorBack},
			told:     []press.Kind{press.SensorBack},
			severity: sensorSeverity, text: sensorJumped, lasting: blindFor,
		},
		{
			name: SensorDisagrees, about: "the glue-line probe does not go with the air",
			raise: []press.Kind{press.SensorDisagrees}, clear: []press.Kind{press.SensorBack},
			told:     []press.Kind{press.SensorBack},
			severity: always(press.Warn), text: sensorDisagrees,
		},
		{
			name: PumpLocked, about: "the pump is locked",
			raise: []press.Kind{press.PumpLocked}, clear: []press.Kind{press.PumpFreed},
			severity: pumpSeverity, text: pumpLocked,
		},
		{
			name: Gap, about: "nobody watched for a while",
			raise:    []press.Kind{press.Gap},
			severity: gapSeverity, text: gap, lasts: 12 * time.Hour,
		},
		{
			// Said when a run is over, after that has ended all else; the next run's end
			// ends it, or says it anew with its own figures.
			name: BagWorsening, about: "the bag is getting worse",
			raise:    []press.Kind{press.BagWorsening},
			severity: always(press.Note), text: bagWorsening, lasts: 72 * time.Hour,
		},
		{
			name: ClockStepped, about: "the clock was corrected",
			raise:    []press.Kind{press.ClockStepped},
			severity: always(press.Note), text: clockStepped, lasts: time.Hour,
		},
	}
}

// rank orders severities.
func rank(s press.Severity) int {
	return slices.Index([]press.Severity{press.Note, press.Warn, press.Wake}, s)
}

func always(s press.Severity) func(picture) press.Severity {
	return func(picture) press.Severity { return s }
}

// unlessDone speaks softly once the glue has its press time: the bag may be
// opened then.
func unlessDone(s press.Severity) func(picture) press.Severity {
	return func(p picture) press.Severity {
		if p.st.Verdict == press.Done {
			return press.Note
		}
		return s
	}
}

// floorSeverity wakes when the glue needs the clamp that is missing, or when
// nobody can say. A press time that is reached by expectation, but not by its
// late bound, is worth a look.
func floorSeverity(p picture) press.Severity {
	switch {
	case p.st.Verdict == press.Done && p.st.PressTimeAt.Late.After(p.st.Time):
		return press.Warn
	case p.st.Verdict == press.Done:
		return press.Note
	case p.holds(press.MarginGone), p.st.Verdict == press.WillNotHold, p.st.Glue == "":
		return press.Wake
	}
	return press.Warn
}

// How near the floor must be expected for a margin that is gone to wake. What
// comes after a whole night can be seen to by daylight. Where the glue is too
// cold ever to be done, every small leak eats the margin some day: the cold is
// what must be mended then, and it has an alert of its own. Where the bounds
// leave it open whether the margin is gone at all, they will be narrower soon.
// In each case it becomes louder by itself. Judgement, no source.
const (
	nightAhead = 10 * time.Hour
	coldAhead  = 4 * time.Hour
	doubtAhead = 2 * time.Hour
)

func marginSeverity(p picture) press.Severity {
	expected, early, ahead := p.st.FloorAt.Expected, p.st.FloorAt.Early, nightAhead
	if expected.IsZero() {
		expected = p.ev.FloorAt
	}
	switch {
	case p.st.PressTimeAt.Expected.IsZero():
		ahead = coldAhead
	case p.st.MarginS.High.Or(0) > 0:
		ahead = doubtAhead
	}
	soon := !early.IsZero() && early.Sub(p.st.Time) <= ahead/2
	if expected.Sub(p.st.Time) > ahead && !soon {
		return press.Warn
	}
	return press.Wake
}

// sensorSeverity wakes when the pressure is not known while it matters.
func sensorSeverity(p picture) press.Severity {
	matters := p.st.Stage == press.Hold || p.st.Stage == press.Pulldown
	switch {
	case !matters && p.st.Stage != press.Layup:
		return press.Note
	case matters && p.st.Verdict != press.Done && (p.about("bag") || p.about("ambient")):
		return press.Wake
	}
	return press.Warn
}

// gapSeverity only mentions that nobody watched a press with nothing on it.
func gapSeverity(p picture) press.Severity {
	if p.ev.Run == "" {
		return press.Note
	}
	return press.Warn
}

// coldSeverity wakes while a film can be saved that will be lost otherwise: that
// is a matter of minutes. Where the shop is expected to warm up in time by itself,
// it is worth a look.
func coldSeverity(p picture) press.Severity {
	if !p.st.FilmLostAt.IsZero() && !p.st.Lost {
		return press.Wake
	}
	return press.Warn
}

// coldSure is how long the cold must have been foreseen: the forecast is made
// anew every five minutes.
const coldSure = 16 * time.Minute

// coldIsAhead reports whether the glue line is expected to get too cold within
// the night. It is over only when it is not, for as long as it is foreseen.
func coldIsAhead(b *Book, st press.Status, open bool) bool {
	if open && b.find(TooCold) != nil { // it has come; it ends with that
		return true
	}
	return st.Stage == press.Hold && st.Verdict != press.Done && !st.ColdAt.IsZero()
}

// pumpSeverity wakes for a pump that cannot be switched off: it draws the bag hard,
// runs hot, and may set fire. What a pump that does not run costs, the alerts about
// the bag itself say in time.
func pumpSeverity(p picture) press.Severity {
	switch pump.Reason(p.ev.Text) {
	case pump.RunsOn, pump.SwitchFail:
		return press.Wake
	}
	return press.Warn
}

func willNotHold(p picture) bool { return p.st.Verdict == press.WillNotHold }

func stays(k press.Kind) func(picture) bool {
	return func(p picture) bool { return p.holds(k) }
}
