package wire

import (
	"encoding/json"
	"slices"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// statusPeriod is how often a press whose state does not change is told of.
const statusPeriod = time.Second

// statusSent is what of a status makes a new one worth sending at once.
type statusSent struct {
	at         time.Time
	run        string
	stage      press.Stage
	verdict    press.Verdict
	conditions []press.Condition
	alerts     int
}

// Status publishes what is known about a press: at once when the stage, the
// verdict or what holds has changed, otherwise at most once a second. It may
// be called with every sample.
func (l *Link) Status(st press.Status) error {
	if !l.up.Load() || !l.worthSending(st, time.Now()) {
		return nil
	}
	st.Schema = press.Schema
	data, err := json.Marshal(st)
	if err != nil {
		return err
	}
	l.post(StatusSubject(l.cfg.site(), st.Press), data)
	return nil
}

func (l *Link) worthSending(st press.Status, now time.Time) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	last, known := l.sent[st.Press]
	same := known && last.run == st.Run && last.stage == st.Stage && last.verdict == st.Verdict &&
		last.alerts == len(st.Alerts) && slices.Equal(last.conditions, st.Conditions)
	if same && now.Sub(last.at) < statusPeriod {
		return false
	}
	l.sent[st.Press] = statusSent{
		at: now, run: st.Run, stage: st.Stage, verdict: st.Verdict,
		conditions: slices.Clone(st.Conditions), alerts: len(st.Alerts),
	}
	return true
}
