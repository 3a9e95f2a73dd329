package press

import (
	"encoding/json"
	"math"
	"reflect"
	"testing"
	"time"
)

// allKinds is every kind of the wire format. A kind that is renamed or taken
// away breaks those who listen.
func allKinds() []Kind {
	return []Kind{
		"layup_started", "assembly_short", "assembly_over", "pulldown_started", "hold_started", "settled",
		"topped_up", "leak_found", "leak_ended", "margin_gone", "margin_back", "below_floor", "above_floor",
		"vacuum_lost", "too_cold", "warm_enough", "press_time_reached", "released", "sensor_silent",
		"sensor_stuck", "sensor_jumped", "sensor_disagrees", "sensor_back", "gap", "clock_stepped", "noted",
		"line_blocked", "line_back", "bag_worsening", "drop_test_started", "drop_test_ended",
		"pump_started", "pump_stopped", "pump_locked", "pump_freed", "calibrated",
		"weather_told", "weather_forgotten",
	}
}

// full is an event with something in every field.
func full(kind Kind) Event {
	at := time.Date(2026, 10, 17, 1, 12, 3, 500e6, time.UTC)
	return Event{
		Time: at, Site: "boatshed", Press: "sled", Run: "sled-20261016T194000Z", Kind: kind,
		OpenLimit: at, ClosedLimit: at, Limit: at, VacuumPa: 84000.125, FromPa: 82000, ToPa: 84500,
		Onset: at, RatePaPerH: 2100.5, RateLow: 1900, RateHigh: 2300, FloorAt: at, PressTimeAt: at,
		MarginS: -18000, GluelineC: 9.75, LimitC: 10, Early: at, Late: at, Verdict: WillNotHold,
		Quantity: "bag", From: at, To: at, ByS: -3600, Text: "a \"note\" with <signs> and\nlines",
		Factor: 1.75, Runs: 7, HoldS: 86400, FloorPa: 65000, Outcome: DropFails, Reason: "noise", TookS: 1200, AllowedPaPerH: 830.5,
		LowC: -2.5, HighC: 7, Until: at,
	}
}

func TestEveryKindGoesThereAndBack(t *testing.T) {
	for _, kind := range allKinds() {
		names, known := kind.Fields()
		if !known {
			t.Errorf("%s has no row in Fields", kind)
			continue
		}
		text, err := json.Marshal(full(kind))
		if err != nil {
			t.Fatal(err)
		}
		var object map[string]any
		if err := json.Unmarshal(text, &object); err != nil {
			t.Fatalf("%s: %v in %s", kind, err, text)
		}
		if want := len(names) + 6; len(object) != want {
			t.Errorf("%s: %d fields, want schema, time, site, press, run, kind and %v: %s", kind, len(object), names, text)
		}
		for _, name := range names {
			if object[name] == nil {
				t.Errorf("%s: field %s is missing or null in %s", kind, name, text)
			}
		}
		var back Event
		if err := json.Unmarshal(text, &back); err != nil {
			t.Fatal(err)
		}
		again, err := json.Marshal(back)
		if err != nil || string(again) != string(text) {
			t.Errorf("%s: %s came back as %s (%v)", kind, text, again, err)
		}
	}
}

func TestUnknownIsNull(t *testing.T) {
	e := Event{Kind: LeakFound, RatePaPerH: Unknown(), RateLow: Num(math.Inf(1))}
	text := string(e.AppendJSON(nil, RFC3339))
	want := `{"schema":1,"time":null,"site":"","press":"","run":"","kind":"leak_found",` +
		`"onset":null,"rate_pa_per_h":null,"rate_low":null,"rate_high":0,"floor_at":null}`
	if text != want {
		t.Errorf("got  %s\nwant %s", text, want)
	}
}

func TestSecondsSince(t *testing.T) {
	start := time.Unix(0, 0).UTC()
	e := Event{Kind: LeakFound, Time: start.Add(90*time.Second + 250*time.Millisecond), Onset: start}
	var object map[string]any
	if err := json.Unmarshal(e.AppendJSON(nil, SecondsSince(start)), &object); err != nil {
		t.Fatal(err)
	}
	if object["time"] != 90.25 || object["onset"] != 0.0 || object["floor_at"] != nil {
		t.Errorf("got %v", object)
	}
}

func TestEveryFieldIsWritten(t *testing.T) {
	written := map[string]bool{}
	for _, kind := range allKinds() {
		names, _ := kind.Fields()
		for _, name := range names {
			written[name] = true
		}
	}
	event := reflect.TypeFor[Event]()
	for i := range event.NumField() {
		name := event.Field(i).Tag.Get("json")
		switch name {
		case "time", "site", "press", "run", "kind":
		default:
			if !written[name] {
				t.Errorf("field %s belongs to no kind", name)
			}
		}
	}
}

func FuzzEvent(f *testing.F) {
	for _, kind := range allKinds() {
		text, err := json.Marshal(full(kind))
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		var e Event
		if json.Unmarshal(text, &e) != nil {
			return
		}
		once, err := json.Marshal(e)
		if err != nil {
			return // a year that RFC 3339 cannot write
		}
		var back Event
		if err := json.Unmarshal(once, &back); err != nil {
			t.Fatalf("%s does not come back: %v", once, err)
		}
		again, err := json.Marshal(back)
		if err != nil || string(again) != string(once) {
			t.Fatalf("%s came back as %s (%v)", once, again, err)
		}
	})
}
