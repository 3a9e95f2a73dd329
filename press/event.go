package press

import (
	"encoding/json"
	"fmt"
	"time"
)

// Schema is the version of the JSON objects that nightclamp sends and keeps.
// It goes up when a field changes its meaning or goes away, not when one is added.
const Schema = 1

// Stage is where a run is.
type Stage string

// The stages, in the order in which a run goes through them. Idle is a press
// with no run on it.
const (
	Idle     Stage = "idle"
	Layup    Stage = "layup"
	Pulldown Stage = "pulldown"
	Hold     Stage = "hold"
	Release  Stage = "release"
)

// Kind names what happened. The kinds and their fields are the wire format:
// they are never renamed.
type Kind string

// Every kind of event there is.
const (
	LayupStarted     Kind = "layup_started"
	AssemblyShort    Kind = "assembly_short"
	AssemblyOver     Kind = "assembly_over"
	PulldownStarted  Kind = "pulldown_started"
	HoldStarted      Kind = "hold_started"
	Settled          Kind = "settled"
	ToppedUp         Kind = "topped_up"
	LeakFound        Kind = "leak_found"
	LeakEnded        Kind = "leak_ended"
	MarginGone       Kind = "margin_gone"
	MarginBack       Kind = "margin_back"
	BelowFloor       Kind = "below_floor"
	AboveFloor       Kind = "above_floor"
	VacuumLost       Kind = "vacuum_lost"
	TooCold          Kind = "too_cold"
	WarmEnough       Kind = "warm_enough"
	PressTimeReached Kind = "press_time_reached"
	Released         Kind = "released"
	SensorSilent     Kind = "sensor_silent"
	SensorStuck      Kind = "sensor_stuck"
	SensorJumped     Kind = "sensor_jumped"
	SensorDisagrees  Kind = "sensor_disagrees" // the probe is where the air cannot have brought it
	SensorBack       Kind = "sensor_back"
	Gap              Kind = "gap"
	ClockStepped     Kind = "clock_stepped"
	Noted            Kind = "noted"
	LineBlocked      Kind = "line_blocked" // the line does not see the bag: a hose is pinched or blocked
	LineBack         Kind = "line_back"
	BagWorsening     Kind = "bag_worsening" // this bag leaks more from run to run
	DropTestStarted  Kind = "drop_test_started"
	DropTestEnded    Kind = "drop_test_ended"
	PumpStarted      Kind = "pump_started" // the relay of an electric pump was switched on
	PumpStopped      Kind = "pump_stopped"
	PumpLocked       Kind = "pump_locked" // it is not switched on any more until somebody has looked
	PumpFreed        Kind = "pump_freed"
	Calibrated       Kind = "calibrated" // which corrections the readings have from now on
	WeatherTold      Kind = "weather_told"
	WeatherForgotten Kind = "weather_forgotten"
)

// Verdict is the answer in one word. While a run is open it says whether the
// bag will hold until the glue has cured; once it is closed, what became of it.
type Verdict string

// The verdicts.
const (
	Unsure      Verdict = "unsure"        // too little is known yet
	WillHold    Verdict = "will_hold"     // the floor is crossed after the press time, bounds and all
	InDoubt     Verdict = "in_doubt"      // the bounds of the two overlap
	WillNotHold Verdict = "will_not_hold" // the floor is expected to be crossed first
	Done        Verdict = "done"          // the press time is reached; the bag may be opened
	Pressed     Verdict = "pressed"       // closed: the whole press time was earned under clamp
	PartClamped Verdict = "part_clamped"  // closed: the press time was earned, part of it below the floor
	OpenedEarly Verdict = "opened_early"  // closed before the press time was earned
	FilmLost    Verdict = "film_lost"     // the glue was below its minimum temperature while wet
)

// Event is one thing that happened to a run. Only the fields that belong to
// its kind are written; see [Kind.Fields].
type Event struct {
	Time  time.Time `json:"time"`
	Site  string    `json:"site"`
	Press string    `json:"press"`
	Run   string    `json:"run"`
	Kind  Kind      `json:"kind"`

	OpenLimit   time.Time `json:"open_limit"`    // end of the open assembly time
	ClosedLimit time.Time `json:"closed_limit"`  // end of the closed assembly time
	Limit       time.Time `json:"limit"`         // when the stack must be under vacuum
	VacuumPa    Num       `json:"vacuum_pa"`     // ambient minus bag, Pa
	FromPa      Num       `json:"from_pa"`       // vacuum before a top-up, Pa
	ToPa        Num       `json:"to_pa"`         // vacuum after a top-up, Pa
	Onset       time.Time `json:"onset"`         // when the leak began
	RatePaPerH  Num       `json:"rate_pa_per_h"` // leak rate, Pa/h
	RateLow     Num       `json:"rate_low"`      // its lower bound, Pa/h
	RateHigh    Num       `json:"rate_high"`     // its upper bound, Pa/h
	FloorAt     time.Time `json:"floor_at"`      // when the floor is expected to be crossed; zero: not within the horizon
	PressTimeAt time.Time `json:"press_time_at"` // when the press time is expected to be earned; zero: never at this temperature
	MarginS     Num       `json:"margin_s"`      // floor crossing minus press time reached, s
	GluelineC   Num       `json:"glueline_c"`    // glue-line temperature, °C
	LimitC      Num       `json:"limit_c"`       // minimum use temperature, °C
	Early       time.Time `json:"early"`         // earliest moment the press time can have been earned
	Late        time.Time `json:"late"`          // latest moment by which it is
	Verdict     Verdict   `json:"verdict"`
	Quantity    string    `json:"quantity"` // bag, ambient, glueline or air
	From        time.Time `json:"from"`     // begin of a gap
	To          time.Time `json:"to"`       // end of a gap
	ByS         Num       `json:"by_s"`     // how far the wall clock was stepped, s; positive: forward
	Text        string    `json:"text"`     // what the builder wrote, or why the pump was switched

	Factor        Num         `json:"factor"`           // how many times more the newest runs of a bag leak than its first
	Runs          Num         `json:"runs"`             // how many runs were compared
	HoldS         Num         `json:"hold_s"`           // how long a drop test wants the bag to hold, s
	FloorPa       Num         `json:"floor_pa"`         // the vacuum that it wants kept, Pa
	Outcome       DropOutcome `json:"outcome"`          // of a drop test
	Reason        string      `json:"reason"`           // why it is no verdict, the line is thought to be blocked, the weather is forgotten
	TookS         Num         `json:"took_s"`           // how long was measured, s
	AllowedPaPerH Num         `json:"allowed_pa_per_h"` // the leak that the bag may have, Pa/h
	LowC          Num         `json:"low_c"`            // the coldest that was told of the coming 24 hours, °C
	HighC         Num         `json:"high_c"`           // the warmest, °C
	Until         time.Time   `json:"until"`            // how long that is good for
}

// Fields returns the names of the fields that events of this kind carry
// besides time, site, press, run and kind, in the order in which they are
// written. It is nil for a kind without any, and false for an unknown kind.
func (k Kind) Fields() ([]string, bool) {
	switch k {
	case LayupStarted:
		return []string{"open_limit", "closed_limit"}, true
	case AssemblyShort, AssemblyOver:
		return []string{"limit"}, true
	case PulldownStarted, LeakEnded:
		return nil, true
	case SensorSilent, SensorStuck, SensorJumped, SensorDisagrees, SensorBack:
		return []string{"quantity"}, true
	case HoldStarted, Settled, BelowFloor, AboveFloor, VacuumLost, LineBack:
		return []string{"vacuum_pa"}, true
	case ToppedUp:
		return []string{"from_pa", "to_pa"}, true
	case LeakFound:
		return []string{"onset", "rate_pa_per_h", "rate_low", "rate_high", "floor_at"}, true
	case MarginGone, MarginBack:
		return []string{"margin_s", "floor_at", "press_time_at"}, true
	case TooCold, WarmEnough:
		return []string{"glueline_c", "limit_c"}, true
	case PressTimeReached:
		return []string{"early", "late"}, true
	case Released:
		return []string{"verdict"}, true
	case Gap:
		return []string{"from", "to"}, true
	case ClockStepped:
		return []string{"by_s"}, true
	case Noted, Calibrated:
		return []string{"text"}, true
	case LineBlocked:
		return []string{"reason", "vacuum_pa"}, true
	case BagWorsening:
		return []string{"rate_pa_per_h", "factor", "runs"}, true
	case DropTestStarted:
		return []string{"hold_s", "floor_pa"}, true
	case DropTestEnded:
		return []string{
			"outcome", "reason", "rate_pa_per_h", "rate_low", "rate_high", "allowed_pa_per_h",
			"hold_s", "floor_pa", "took_s",
		}, true
	case PumpStarted, PumpStopped, PumpLocked, PumpFreed:
		return []string{"vacuum_pa", "text"}, true
	case WeatherTold:
		return []string{"low_c", "high_c", "until"}, true
	case WeatherForgotten:
		return []string{"reason"}, true
	}
	return nil, false
}

// TimeFormat appends a time as JSON. The zero time is written as null.
type TimeFormat func(b []byte, t time.Time) []byte

// RFC3339 writes times as RFC 3339 strings in UTC, with as many digits of the
// second as the time has.
func RFC3339(b []byte, t time.Time) []byte {
	if t.IsZero() {
		return append(b, "null"...)
	}
	b = append(b, '"')
	b = t.UTC().AppendFormat(b, time.RFC3339Nano)
	return append(b, '"')
}

// SecondsSince writes times as decimal seconds from start.
func SecondsSince(start time.Time) TimeFormat {
	return func(b []byte, t time.Time) []byte {
		if t.IsZero() {
			return append(b, "null"...)
		}
		return Num(t.Sub(start).Seconds()).append(b)
	}
}

// AppendJSON appends the event as one JSON object, its times in the given
// format. Besides the fields of its kind the object has "schema".
func (e Event) AppendJSON(b []byte, format TimeFormat) []byte {
	b = fmt.Appendf(b, `{"schema":%d,"time":`, Schema)
	b = format(b, e.Time)
	for _, f := range [...]struct{ name, value string }{
		{"site", e.Site}, {"press", e.Press}, {"run", e.Run}, {"kind", string(e.Kind)},
	} {
		b = appendString(append(appendString(append(b, ','), f.name), ':'), f.value)
	}
	fields, _ := e.Kind.Fields()
	for _, name := range fields {
		b = append(appendString(append(b, ','), name), ':')
		b = e.appendField(b, name, format)
	}
	return append(b, '}')
}

// MarshalJSON writes the event with RFC 3339 times.
func (e Event) MarshalJSON() ([]byte, error) { return e.AppendJSON(nil, RFC3339), nil }

func (e Event) appendField(b []byte, name string, format TimeFormat) []byte {
	switch name {
	case "open_limit":
		return format(b, e.OpenLimit)
	case "closed_limit":
		return format(b, e.ClosedLimit)
	case "limit":
		return format(b, e.Limit)
	case "onset":
		return format(b, e.Onset)
	case "floor_at":
		return format(b, e.FloorAt)
	case "press_time_at":
		return format(b, e.PressTimeAt)
	case "early":
		return format(b, e.Early)
	case "late":
		return format(b, e.Late)
	case "from":
		return format(b, e.From)
	case "to":
		return format(b, e.To)
	case "until":
		return format(b, e.Until)
	case "verdict":
		return appendString(b, string(e.Verdict))
	case "quantity":
		return appendString(b, e.Quantity)
	case "text":
		return appendString(b, e.Text)
	case "outcome":
		return appendString(b, string(e.Outcome))
	case "reason":
		return appendString(b, e.Reason)
	}
	return e.number(name).append(b)
}

func (e Event) number(name string) Num {
	switch name {
	case "vacuum_pa":
		return e.VacuumPa
	case "from_pa":
		return e.FromPa
	case "to_pa":
		return e.ToPa
	case "rate_pa_per_h":
		return e.RatePaPerH
	case "rate_low":
		return e.RateLow
	case "rate_high":
		return e.RateHigh
	case "margin_s":
		return e.MarginS
	case "glueline_c":
		return e.GluelineC
	case "limit_c":
		return e.LimitC
	case "by_s":
		return e.ByS
	case "hold_s":
		return e.HoldS
	case "floor_pa":
		return e.FloorPa
	case "took_s":
		return e.TookS
	case "factor":
		return e.Factor
	case "runs":
		return e.Runs
	case "allowed_pa_per_h":
		return e.AllowedPaPerH
	case "low_c":
		return e.LowC
	case "high_c":
		return e.HighC
	}
	return Unknown()
}

func appendString(b []byte, s string) []byte {
	quoted, err := json.Marshal(s)
	if err != nil { // a string always marshals
		return append(b, `""`...)
	}
	return append(b, quoted...)
}
