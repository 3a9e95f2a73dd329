package web

import (
	"net/http"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// Snapshot is the answer of /api/v1/status and the data of each event of the
// stream.
type Snapshot struct {
	Schema  int         `json:"schema"`
	Now     time.Time   `json:"now"` // by the clock of the samples
	Presses []PressView `json:"presses"`
	Board   []Trouble   `json:"board,omitempty"`
}

// Trouble is an alert about the board itself: alerts that do not get out, a full
// disk. The page shows it with every press, for it may not be able to reach anybody
// otherwise.
type Trouble struct {
	press.AlertStatus
	ShownSince string `json:"shown_since"`
}

func (s *server) troubles(now time.Time) []Trouble {
	if s.Board == nil {
		return nil
	}
	var list []Trouble
	for _, a := range s.Board() {
		list = append(list, Trouble{
			AlertStatus: press.AlertStatus{
				ID: a.ID, Name: a.Name, Severity: string(a.Severity), State: a.State, Since: a.RaisedAt, Text: a.Text,
			},
			ShownSince: s.Display.Clock(a.RaisedAt, now),
		})
	}
	return list
}

// PressView is a status as the page shows it.
type PressView struct {
	press.Status
	SampleAgeS press.Num `json:"sample_age_s"` // in real seconds; null before the first sample
	Stale      bool      `json:"stale"`        // too old to be trusted
	Shown      Shown     `json:"shown"`
}

func (s *server) snapshot() Snapshot {
	now := s.Now()
	snap := Snapshot{Schema: press.Schema, Now: now, Presses: []PressView{}, Board: s.troubles(now)}
	for _, st := range s.Source.Status() {
		snap.Presses = append(snap.Presses, s.viewOf(st, now))
	}
	return snap
}

// viewOf shows one status as it looks at now.
func (s *server) viewOf(st press.Status, now time.Time) PressView {
	age := press.Unknown()
	if !st.Time.IsZero() {
		age = press.Num(max(0, now.Sub(st.Time).Seconds()/s.Speed))
	}
	return PressView{
		Status:     st,
		SampleAgeS: age,
		Stale:      age.Known() && float64(age) > s.StaleAfter.Seconds(),
		Shown:      show(st, s.Display),
	}
}

func (s *server) status(w http.ResponseWriter, r *http.Request) {
	s.send(w, r, s.snapshot())
}

// known reports whether there is a press of that name.
func (s *server) known(name string) (press.Status, bool) {
	for _, st := range s.Source.Status() {
		if st.Press == name {
			return st, true
		}
	}
	return press.Status{}, false
}
