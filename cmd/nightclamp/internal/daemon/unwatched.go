package daemon

import (
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// leastUnwatched is how long nobody must have watched a press without a run for that
// to be said. What is known of such a press is kept by the hour.
const leastUnwatched = 2 * time.Hour

// unwatched says that nobody watched a press without a run: a power cut, or a board
// that was switched off. A run has its own gap.
func (s *Station) unwatched(at time.Time) []press.Event {
	if s.run.ID() != "" && !s.run.Closed() {
		return nil
	}
	from := s.hours.seen()
	if from.IsZero() || at.Sub(from) < leastUnwatched {
		return nil
	}
	return []press.Event{{Time: at, Site: s.cfg.Site, Press: s.cfg.Press, Kind: press.Gap, From: from, To: at}}
}

// seen is until when, at least, somebody looked; zero: not known.
func (h *hours) seen() time.Time {
	seen := h.last
	if n := len(h.past); n > 0 {
		if end := h.past[n-1].Hour.Add(time.Hour); end.After(seen) {
			seen = end
		}
	}
	return seen
}
