package alert

import (
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
)

// BoardName stands in for a press in the alerts about the board itself; no press
// may have it.
const BoardName = "board"

// The names of the alerts about the board.
const (
	DiskFull       = "disk_full"
	RecordFailing  = "record_failing"
	DeliveryFails  = "delivery_failing"
	PowerWeak      = "power_weak"
	BoardHot       = "board_hot"
	ClockUnset     = "clock_unset"
	OutcomeAsked   = "outcome_asked"
	BuildLogFails  = "build_log_failing"
	overSuffix     = "_over"
	boardLookEvery = 30 * time.Second
)

// boardTable lists the alerts about the board. Their text is the check's own.
func boardTable() []row {
	r := func(name, about string, severity press.Severity, swallows ...string) row {
		return row{
			name: name, about: about, severity: always(severity), swallows: swallows,
			raise: []press.Kind{press.Kind(name)}, clear: []press.Kind{press.Kind(name + overSuffix)},
			told: []press.Kind{press.Kind(name + overSuffix)},
			text: func(p picture) string { return p.ev.Text },
		}
	}
	asked := r(OutcomeAsked, "what came out of the bag", press.Note)
	asked.told = nil // the answer is known to whoever gave it
	return []row{
		r(RecordFailing, "the record cannot be written", press.Warn, DiskFull),
		r(DiskFull, "the disk is nearly full", press.Warn),
		r(DeliveryFails, "alerts do not get out", press.Warn),
		r(PowerWeak, "the board's supply is weak", press.Warn),
		r(BoardHot, "the board is hot", press.Warn),
		r(ClockUnset, "the clock is not set", press.Note),
		r(BuildLogFails, "the build log cannot be written", press.Note),
		asked,
	}
}

// everyRow is the table of the presses and that of the board.
func everyRow() []row { return append(table(), boardTable()...) }

// Check looks after one thing about the board.
type Check struct {
	Name string // one of the names above
	// Look says what is wrong now; empty: nothing is. It carries its own
	// hysteresis.
	Look func(now time.Time) string
}

// Board judges the board itself. Its alerts live like those of a press.
type Board struct {
	*Book
	site   string
	checks []Check
	bad    map[string]string // what was wrong at the last look, by name
}

// NewBoard returns a board with the given checks.
func NewBoard(site string, show units.Display, checks ...Check) *Board {
	return &Board{
		Book: &Book{cfg: Config{Display: show}, rows: boardTable()},
		site: site, checks: checks, bad: map[string]string{},
	}
}

// LookEvery is how often [Board.Look] is to be called.
func (b *Board) LookEvery() time.Duration { return boardLookEvery }

// Look makes every check and returns the alerts that changed. Unlike the alerts
// of a press these go by the wall clock, now: nobody samples the board.
func (b *Board) Look(now time.Time) []press.Alert {
	st := press.Status{Time: now, Site: b.site, Press: BoardName}
	var events []press.Event
	for _, c := range b.checks {
		text := c.Look(now)
		kind := press.Kind(c.Name)
		if text == "" {
			kind += overSuffix
			if b.bad[c.Name] == "" && b.has(c.Name) == nil {
				continue
			}
		} else {
			st.Conditions = append(st.Conditions, press.Condition{Kind: kind, Since: now})
		}
		b.bad[c.Name] = text
		events = append(events, press.Event{Time: now, Site: b.site, Press: BoardName, Kind: kind, Text: text})
	}
	return b.Advance(events, st)
}

func (b *Board) has(name string) *entry {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.find(name)
}
