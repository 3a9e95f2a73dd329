package web

import (
	"net/http"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// Settings is the answer of /api/v1/config: what the page must know to draw
// like the rest of nightclamp writes.
type Settings struct {
	Schema      int        `json:"schema"`
	Version     string     `json:"version"`
	Pressure    Unit       `json:"pressure"`
	Temperature Unit       `json:"temperature"`
	Clock12     bool       `json:"clock12"`
	Speed       float64    `json:"speed"` // seconds of the samples' clock in a real one
	StaleAfterS float64    `json:"stale_after_s"`
	Control     bool       `json:"control"` // whether orders are carried out
	Records     bool       `json:"records"` // whether runs of the past can be looked at
	Keeping     bool       `json:"keeping"` // whether they can be compared, exported, and what came out written down
	Zone        []ZoneStep `json:"zone"`
}

// InForce is the answer of /api/v1/settings: the configuration that the daemon
// runs with, for its owner.
type InForce struct {
	Path string `json:"path"` // of the config file; empty: there is none
	Text string `json:"text"` // TOML, with what the file leaves out; secrets are hidden
}

func (s *server) inForce(w http.ResponseWriter, r *http.Request) {
	if visitorOf(r.Context()).role != owner {
		s.fail(w, r, http.StatusForbidden, "settings are for those who may change them; log in with the password")
		return
	}
	shown, err := s.InForce()
	if err != nil {
		s.fail(w, r, http.StatusInternalServerError, err.Error())
		return
	}
	s.send(w, r, shown)
}

// Unit turns SI into what is shown: shown = si * Factor + Offset.
type Unit struct {
	Symbol string  `json:"symbol"`
	Factor float64 `json:"factor"`
	Offset float64 `json:"offset"`
}

// ZoneStep says which offset to UTC holds from a moment on. The list saves the
// page from asking the browser, whose zone may be another and which may not
// know ours.
type ZoneStep struct {
	From    int64 `json:"from"`     // Unix time, s
	OffsetS int   `json:"offset_s"` // east of Greenwich is positive
}

// zoneYears is how far back the list goes: as far as records are looked at.
const zoneYears = 5

func zoneSteps(loc *time.Location, now time.Time) []ZoneStep {
	if loc == nil {
		loc = time.UTC
	}
	steps := []ZoneStep{}
	at := now.AddDate(-zoneYears, 0, 0).In(loc)
	for end := now.AddDate(1, 0, 0); at.Before(end); {
		_, offset := at.Zone()
		steps = append(steps, ZoneStep{From: at.Unix(), OffsetS: offset})
		_, next := at.ZoneBounds()
		if next.IsZero() {
			break
		}
		at = next.In(loc)
	}
	return steps
}

func (s *server) settings(w http.ResponseWriter, r *http.Request) {
	d := s.Display
	factor, pressure := d.PressureNumber(1)
	freezing, temperature := d.TemperatureNumber(0)
	one, _ := d.TemperatureNumber(1)
	s.send(w, r, Settings{
		Schema: press.Schema, Version: s.Version,
		Pressure:    Unit{Symbol: pressure, Factor: factor},
		Temperature: Unit{Symbol: temperature, Factor: one - freezing, Offset: freezing},
		Clock12:     d.Clock12, Speed: s.Speed, StaleAfterS: s.StaleAfter.Seconds(),
		Control: s.Control != nil, Records: s.Records != nil, Keeping: s.Keeping != nil, Zone: zoneSteps(d.Location, s.Now()),
	})
}
