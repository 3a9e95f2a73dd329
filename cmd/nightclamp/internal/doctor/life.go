package doctor

import (
	"context"
	"fmt"
	"time"
)

const daemon = "daemon"

// sampleAge is how old the newest sample of a press may be, whatever its pace.
const sampleAge = 30 * time.Second

// askFor is how long the daemon may take to answer.
const askFor = 5 * time.Second

// life asks the daemon how it is.
func (e *examination) life(ctx context.Context) {
	if e.daemon == nil {
		e.add(daemon, Attention, fmt.Sprintf("it does not answer: %v", e.away), "sudo systemctl enable --now nightclamp; journalctl -u nightclamp -e says why it ended")
		return
	}
	ctx, cancel := context.WithTimeout(ctx, askFor)
	defer cancel()
	if v, err := e.daemon.Version(ctx); err == nil && v.Version != e.Version {
		e.add(daemon, Attention, fmt.Sprintf("it is of version %s, this program of %s", v.Version, e.Version), "sudo systemctl restart nightclamp")
	}
	all, err := e.daemon.Status(ctx, "")
	if err != nil {
		e.add(daemon, Wrong, fmt.Sprintf("it does not say how it is: %v", err), "sudo systemctl restart nightclamp")
		return
	}
	for _, st := range all {
		patience := sampleAge
		for _, p := range e.cfg.Presses {
			if p.Name == st.Press {
				patience = max(patience, 3*p.Interval.Std())
			}
		}
		switch age := e.Now().Sub(st.Time); {
		case st.Time.IsZero():
			e.add(daemon, Wrong, fmt.Sprintf("press %s has had no sample yet", st.Press), "look at its sensors above; journalctl -u nightclamp -e says more")
		case age > patience:
			e.add(daemon, Wrong, fmt.Sprintf("the newest sample of press %s is %s old", st.Press, age.Round(time.Second)), "look at its sensors above; journalctl -u nightclamp -e says more")
		default:
			e.ok(daemon, "press %s: newest sample %s old, %s", st.Press, max(age, 0).Round(100*time.Millisecond), st.Stage)
		}
		for _, s := range st.Sensors {
			if !s.Healthy {
				e.add(daemon, Wrong, fmt.Sprintf("press %s: sensor %s does not answer the daemon: %s", st.Press, s.Name, s.Error), "nightclamp sensor read tries it beside the daemon")
			}
		}
		for _, a := range st.Alerts {
			e.add(daemon, Attention, fmt.Sprintf("press %s: alert %s: %s", st.Press, a.Name, a.Text), "see to it, then: nightclamp alert ack")
		}
	}
	e.delivery(ctx)
}

// delivery asks how the ways out are doing.
func (e *examination) delivery(ctx context.Context) {
	ways, err := e.daemon.Ways(ctx)
	if err != nil {
		e.add(daemon, Attention, fmt.Sprintf("it does not say how its ways out are doing: %v", err), "nightclamp alert ways")
		return
	}
	for _, w := range ways {
		if !w.Failing.IsZero() {
			e.add(daemon, Wrong, fmt.Sprintf("way %q has taken nothing since %s, %d wait: %s", w.Name, e.cfg.Display.Units().Clock(w.Failing, e.Now()), w.Waiting, w.Error), "look at the network and its url; nightclamp alert test tries it again")
		}
	}
}
