package press

import "time"

// Span is a moment that is only known within bounds. A zero time means that
// the moment does not come within the horizon of the forecast.
type Span struct {
	Early    time.Time `json:"early,omitzero"`
	Expected time.Time `json:"expected,omitzero"`
	Late     time.Time `json:"late,omitzero"`
}

// Band is a number with its bounds.
type Band struct {
	Low      Num `json:"low"`
	Expected Num `json:"expected"`
	High     Num `json:"high"`
}

// Status is all that is known about one press at one moment: what the page,
// the terminal, the metrics and a NATS client are shown. It is a value; nobody
// who holds one can disturb the run.
type Status struct {
	Schema  int       `json:"schema"`
	Time    time.Time `json:"time"` // of the newest sample
	Site    string    `json:"site"`
	Press   string    `json:"press"`
	Run     string    `json:"run"`              // empty when idle
	Work    string    `json:"work"`             // what is being pressed, as the builder named it
	Glue    string    `json:"glue"`             // the datasheet's name; empty: none chosen
	Started time.Time `json:"started,omitzero"` // first glue, or the pull-down
	Stage   Stage     `json:"stage"`
	StageAt time.Time `json:"stage_since,omitzero"`

	Sentence string  `json:"sentence"`
	Verdict  Verdict `json:"verdict"`

	VacuumPa  Num `json:"vacuum_pa"`
	BagPa     Num `json:"bag_pa"`
	AmbientPa Num `json:"ambient_pa"`
	FloorPa   Num `json:"floor_pa"`
	GluelineC Num `json:"glueline_c"`
	AirC      Num `json:"air_c"`
	// HumidityPct is the relative humidity of the room's air. Wood that is left in
	// it comes to WoodPct, its equilibrium moisture content, % of the dry mass; the
	// chosen datasheet wants it within WoodWanted.
	HumidityPct Num    `json:"humidity_pct"`
	WoodPct     Num    `json:"wood_moisture_pct"`
	WoodWanted  [2]Num `json:"wood_moisture_wanted_pct"`
	// GluelineFrom says where the glue line's temperature comes from: "probe", or
	// "air" through the lag of the stack.
	GluelineFrom string `json:"glueline_from,omitempty"`
	MinUseC      Num    `json:"min_use_c"` // of the chosen datasheet

	Settled   bool      `json:"settled"`
	Leaking   bool      `json:"leaking"`
	LeakOnset time.Time `json:"leak_onset,omitzero"`
	LeakRate  Band      `json:"leak_rate_pa_per_h"` // known from the moment the rise can be told from noise, leak or not
	FloorAt   Span      `json:"floor_at"`

	Progress        Band `json:"progress"`         // 0..1
	ClampedProgress Band `json:"clamped_progress"` // 0..1
	PressTimeAt     Span `json:"press_time_at"`
	Lost            bool `json:"film_lost"` // the film was spoiled by cold while wet

	// HeatBy, while it is too cold for the glue, is the latest moment at which
	// warmth must come, and HeatFor what is lost otherwise: "film" or "clamp". ColdAt
	// is when the glue line is expected to fall below the minimum.
	HeatBy  time.Time `json:"heat_by,omitzero"`
	HeatFor string    `json:"heat_for,omitempty"`
	ColdAt  time.Time `json:"cold_at,omitzero"`
	// FilmLostAt is when the wet film is expected to be lost to the cold if nobody
	// warms it: where the shop warms up in time by itself, there is none.
	FilmLostAt time.Time `json:"film_lost_at,omitzero"`

	MarginS Band `json:"margin_s"`
	// HoldChance is the probability that the bag stays above the floor until the
	// press time is reached if nobody touches it, 0..1.
	HoldChance Num `json:"hold_chance"`
	// TopUpBy are the latest moments for the top-ups that it takes to be sure, with
	// all bounds at their worst; TopUpsEnough says whether they are enough.
	TopUpBy      []time.Time `json:"top_up_by,omitempty"`
	TopUpsEnough bool        `json:"top_ups_enough"`

	// UnclampedShare is the share of the cure earned below the floor, 0..1, and
	// UnclampedFrom how far the cure was when the clamp was first lost.
	UnclampedShare Num `json:"unclamped_share"`
	UnclampedFrom  Num `json:"unclamped_from"`

	OpenLimit   time.Time `json:"open_limit,omitzero"`
	ClosedLimit time.Time `json:"closed_limit,omitzero"`

	TopUps     int         `json:"top_ups"`
	Pump       *PumpStatus `json:"pump,omitempty"`    // nil: no pump is switched by this press
	Weather    *Weather    `json:"weather,omitempty"` // what was told of the coming hours; nil: nothing
	Conditions []Condition `json:"conditions"`        // what holds now: leak_found, below_floor, too_cold, sensor_silent …
	Samples    uint64      `json:"samples"`
	// BagLeak is the leak of this bag where it was known best in this run.
	BagLeak Band `json:"bag_leak_pa_per_h"`
	// FreeVolume is the air space of the bag, m³, from the config or from the strokes
	// of a hand pump; with it the leak is told as a flow, and, while that is choked,
	// as the diameter of the ideal round hole that lets it in, m.
	FreeVolume     Band           `json:"free_volume_m3"`
	FreeVolumeFrom string         `json:"free_volume_from,omitempty"`
	LeakFlow       Band           `json:"leak_flow_pa_m3_per_s"`
	LeakHole       Band           `json:"leak_hole_m"`
	PumpCycle      *PumpCycle     `json:"pump_cycle,omitempty"`  // of a pump that tops up by itself, from three rests on
	LineReason     string         `json:"line_reason,omitempty"` // why the line is thought to be blocked: quiet, no_response or quick
	DropTest       *DropTest      `json:"drop_test,omitempty"`   // the last one of this run, under way or over
	Sensors        []SensorStatus `json:"sensors,omitempty"`
	Alerts         []AlertStatus  `json:"alerts,omitempty"`
	Todo           []Todo         `json:"todo,omitempty"` // what else waits for the builder
}

// PumpStatus is how the electric pump is doing that the press switches.
type PumpStatus struct {
	On     bool   `json:"on"`
	Starts int    `json:"starts"`           // in the last hour
	Locked string `json:"locked,omitempty"` // why it is not switched on any more
}

// SensorStatus is how one configured part is doing; the sampling loop fills it in.
type SensorStatus struct {
	Name    string    `json:"name"` // unique on its press
	Driver  string    `json:"driver"`
	Reads   []string  `json:"reads"` // bag, ambient, glueline, air
	Healthy bool      `json:"healthy"`
	LastAt  time.Time `json:"last_at,omitzero"` // of the last good reading
	Errors  uint64    `json:"errors"`
	Error   string    `json:"error,omitempty"` // the last one, while it lasts
	// Readings are what it read last, as its driver gives it: before the
	// barometer's correction and any judgement.
	Readings []SensorReading `json:"readings,omitempty"`
}

// SensorReading is one quantity as a part read it, Pa or °C.
type SensorReading struct {
	Quantity string `json:"quantity"` // bag, ambient, glueline, air
	Value    Num    `json:"value"`
}

// AlertStatus is one active alert; the alert package fills it in.
type AlertStatus struct {
	ID       string     `json:"id"`
	Name     string     `json:"name"`
	Severity string     `json:"severity"` // note, warn or wake
	State    AlertState `json:"state"`    // raised or acknowledged
	Since    time.Time  `json:"since"`
	Text     string     `json:"text"`
}
