package daemon

import (
	"context"
	"encoding/json"
	"slices"

	"github.com/nightclamp/nightclamp/leak"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
)

// comparedRuns is how many runs of a press are looked at: a season of its bag.
const comparedRuns = 20

// judgeBag compares the leak of a run that has just ended with the runs before on
// the same press. It returns the event that says that the bag is getting worse.
func (s *Station) judgeBag(ctx context.Context, events []press.Event) []press.Event {
	ended := slices.ContainsFunc(events, func(e press.Event) bool { return e.Kind == press.Released })
	st := s.run.Status()
	now, known := pastOf(st)
	if !ended || !known {
		return nil
	}
	rows, err := s.shared.store.Runs(ctx, record.Filter{Press: s.cfg.Press, Limit: comparedRuns})
	if err != nil {
		s.shared.log.Warn("earlier runs not compared", "press", s.cfg.Press, "error", err)
		return nil
	}
	var runs []leak.Past
	for _, row := range slices.Backward(rows) { // oldest first
		var then press.Status
		if row.ID == st.Run || row.Ended.IsZero() || json.Unmarshal(row.Final, &then) != nil {
			continue
		}
		if p, known := pastOf(then); known {
			runs = append(runs, p)
		}
	}
	runs = append(runs, now)
	if worse, factor := leak.Worsening(runs); worse {
		return s.run.Worsens(factor, len(runs))
	}
	return nil
}

// pastOf is the leak of a run where it was known best. The test of an empty bag is
// no run of it: nothing was in it that could settle or give off gas.
func pastOf(st press.Status) (leak.Past, bool) {
	b := st.BagLeak
	return leak.Past{Rate: float64(b.Expected), Low: float64(b.Low), High: float64(b.High)},
		b.High.Known() && b.High > 0 && st.Work != press.EmptyBag
}
