package wire

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/sensor"
)

// Sample is one reading of one press as it goes over the wire.
type Sample struct {
	Schema    int       `json:"schema"`
	Time      time.Time `json:"time"`
	Site      string    `json:"site"`
	Press     string    `json:"press"`
	Run       string    `json:"run"` // empty when the press is idle
	BagPa     press.Num `json:"bag_pa"`
	AmbientPa press.Num `json:"ambient_pa"`
	VacuumPa  press.Num `json:"vacuum_pa"`
	GluelineC press.Num `json:"glueline_c"`
	AirC      press.Num `json:"air_c"`
	Humidity  press.Num `json:"humidity_pct"` // relative, of the room's air
	Quality   []string  `json:"quality"`      // what is known to be wrong or merely assumed; see [QualityWords]
}

// Heartbeat says that the daemon is alive, and since when each press was read.
type Heartbeat struct {
	Schema  int                  `json:"schema"`
	Time    time.Time            `json:"time"` // wall clock
	Site    string               `json:"site"`
	Version string               `json:"version"`
	UptimeS float64              `json:"uptime_s"`
	Held    int                  `json:"held_back"` // events and alerts that wait for the server
	Samples map[string]time.Time `json:"samples"`   // time of the newest sample, by press
}

// QualityWords names the remarks in q, in a fixed order; it is empty, not nil,
// for a sample with nothing to remark.
func QualityWords(q sensor.Quality) []string {
	words := []string{}
	for _, w := range [...]struct {
		remark sensor.Quality
		word   string
	}{
		{sensor.Gauge, "gauge"},
		{sensor.AmbientAssumed, "ambient_assumed"},
		{sensor.BagSilent, "bag_silent"},
		{sensor.AmbientSilent, "ambient_silent"},
		{sensor.GlueLineSilent, "glueline_silent"},
		{sensor.AirSilent, "air_silent"},
		{sensor.HumiditySilent, "humidity_silent"},
		{sensor.Saturated, "saturated"},
		{sensor.ClockSet, "clock_set"},
	} {
		if q.Has(w.remark) {
			words = append(words, w.word)
		}
	}
	return words
}

// appendSample appends s as the JSON of a [Sample]. It is written by hand
// because it is the one message that is sent ten times a second. Names are
// tokens and a run is made of them, so only the run is quoted with care.
func appendSample(b []byte, site, pressName, run string, s sensor.Sample) []byte {
	b = fmt.Appendf(b, `{"schema":%d,"time":"`, press.Schema)
	b = s.Time.UTC().AppendFormat(b, time.RFC3339Nano)
	b = append(append(b, `","site":"`...), site...)
	b = append(append(b, `","press":"`...), pressName...)
	b = append(b, `","run":`...)
	b = appendQuoted(b, run)
	for _, q := range [...]struct {
		name  string
		value float64
	}{
		{"bag_pa", s.Bag}, {"ambient_pa", s.Ambient}, {"vacuum_pa", s.Vacuum()},
		{"glueline_c", s.GlueLine}, {"air_c", s.Air},
		{"humidity_pct", s.RelativeHumidity()},
	} {
		b = append(append(append(b, `,"`...), q.name...), `":`...)
		b = appendNum(b, q.value)
	}
	b = append(b, `,"quality":[`...)
	for i, w := range QualityWords(s.Quality) {
		if i > 0 {
			b = append(b, ',')
		}
		b = append(append(append(b, '"'), w...), '"')
	}
	return append(b, ']', '}')
}

func appendNum(b []byte, v float64) []byte {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return append(b, "null"...)
	}
	return strconv.AppendFloat(b, v, 'f', -1, 64)
}

func appendQuoted(b []byte, s string) []byte {
	quoted, err := json.Marshal(s)
	if err != nil { // a string always marshals
		return append(b, `""`...)
	}
	return append(b, quoted...)
}

func eventMessage(ev press.Event) Message {
	return Message{
		ID:      fmt.Sprintf("%s/%s/%s/%s%s/%d", ev.Site, ev.Press, ev.Run, ev.Kind, dot(ev.Quantity), ev.Time.UnixNano()),
		Subject: EventSubject(ev.Site, ev.Press, ev.Kind),
		Data:    ev.AppendJSON(nil, press.RFC3339),
	}
}

func alertMessage(a press.Alert) (Message, error) {
	a.Schema = press.Schema
	data, err := json.Marshal(a)
	if err != nil {
		return Message{}, fmt.Errorf("nats: alert %s as JSON: %w", a.ID, err)
	}
	return Message{
		ID:      fmt.Sprintf("%s/%s/%s/%s/%d", a.Site, a.ID, a.State, a.Reason, a.At.UnixNano()),
		Subject: AlertSubject(a.Site, a.Press, a.Name),
		Data:    data,
	}, nil
}

func dot(s string) string {
	if s == "" {
		return ""
	}
	return "." + s
}
