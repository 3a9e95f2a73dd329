package alert

import (
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// transport answers requests without a network, so that time can be false.
type transport struct {
	mu     sync.Mutex
	status int
	fail   error
	bodies []string
	urls   []string
	at     []time.Time
}

// RoundTrip keeps the request and answers with the status.
func (tr *transport) RoundTrip(r *http.Request) (*http.Response, error) {
	tr.mu.Lock()
	defer tr.mu.Unlock()
	body := []byte{}
	if r.Body != nil {
		body, _ = io.ReadAll(r.Body)
	}
	tr.bodies, tr.urls, tr.at = append(tr.bodies, string(body)), append(tr.urls, r.URL.String()), append(tr.at, time.Now())
	if tr.fail != nil {
		return nil, tr.fail
	}
	return &http.Response{StatusCode: tr.status, Status: http.StatusText(tr.status), Body: io.NopCloser(strings.NewReader("")), Request: r}, nil
}

func (tr *transport) calls() int {
	tr.mu.Lock()
	defer tr.mu.Unlock()
	return len(tr.at)
}

func (tr *transport) last(t *testing.T) []posted {
	t.Helper()
	tr.mu.Lock()
	defer tr.mu.Unlock()
	if len(tr.bodies) == 0 {
		t.Fatal("nothing was posted")
	}
	var list []posted
	if err := json.Unmarshal([]byte(tr.bodies[len(tr.bodies)-1]), &list); err != nil {
		t.Fatal(err)
	}
	return list
}

func TestAlertmanagerIsToldAgainAndAgain(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		a := raisedAt(time.Now(), press.Wake, time.Hour)
		a.Site, a.Text = "shed", "The bag falls below your floor."
		var active atomic.Pointer[[]press.Alert]
		active.Store(&[]press.Alert{a})
		tr := &transport{status: http.StatusOK}
		m, err := NewAlertmanager("http://u:pw@am:9093/prefix", func() []press.Alert { return *active.Load() }, quiet())
		if err != nil {
			t.Fatal(err)
		}
		m.client.Transport = tr
		background(t, m.Run)
		time.Sleep(150 * time.Second)
		synctest.Wait()
		if len(tr.bodies) != 3 || tr.urls[0] != "http://u:pw@am:9093/prefix/api/v2/alerts" {
			t.Fatalf("posted %d times to %v", len(tr.bodies), tr.urls)
		}
		got := tr.last(t)[0]
		if got.Labels["alertname"] != MarginGone || got.Labels["severity"] != "wake" || got.Labels["press"] != "deck" ||
			got.Annotations["summary"] != a.Text || !got.StartsAt.Equal(a.RaisedAt) || time.Until(got.EndsAt) < 4*time.Minute {
			t.Errorf("posted %+v", got)
		}
		active.Store(new([]press.Alert))
		m.Changed()
		synctest.Wait()
		over := time.Now()
		if got := tr.last(t)[0]; !got.EndsAt.Equal(over) {
			t.Errorf("over at %s, told %s", over, got.EndsAt)
		}
		time.Sleep(time.Hour)
		synctest.Wait()
		if since := tr.at[tr.calls()-1].Sub(over); since < 14*time.Minute || since > 16*time.Minute {
			t.Errorf("told for %s that it is over", since)
		}
	})
}

func TestAlertmanagerThatWasDown(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		tr := &transport{fail: errors.New("connection refused")}
		m, err := NewAlertmanager("http://am:9093", func() []press.Alert { return []press.Alert{raisedAt(time.Now(), press.Warn, 0)} }, quiet())
		if err != nil {
			t.Fatal(err)
		}
		m.client.Transport = tr
		background(t, m.Run)
		time.Sleep(8 * time.Hour)
		synctest.Wait()
		tr.mu.Lock()
		tr.fail, tr.status = nil, http.StatusOK
		tr.mu.Unlock()
		time.Sleep(tellEvery + time.Second)
		synctest.Wait()
		if m.down || len(tr.last(t)) != 1 {
			t.Errorf("down %v, told %v", m.down, tr.last(t))
		}
	})
}

func TestPingOnlyWhileSamplesArrive(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var alive atomic.Bool
		alive.Store(true)
		tr := &transport{status: http.StatusOK}
		p, err := NewPing("https://watch.example/s3cr3t", time.Minute, alive.Load, quiet())
		if err != nil {
			t.Fatal(err)
		}
		p.client.Transport = tr
		background(t, p.Run)
		time.Sleep(5*time.Minute - time.Second)
		synctest.Wait()
		if tr.calls() != 5 {
			t.Errorf("%d pings in five minutes", tr.calls())
		}
		alive.Store(false)
		time.Sleep(time.Hour)
		synctest.Wait()
		if tr.calls() != 5 {
			t.Errorf("%d pings though no samples arrive", tr.calls()-5)
		}
		alive.Store(true)
		time.Sleep(10 * time.Second)
		synctest.Wait()
		if tr.calls() != 6 {
			t.Error("no ping when samples arrive again")
		}
	})
}

func TestPingAndAlertmanagerURLs(t *testing.T) {
	for _, bad := range []string{"", "am:9093", "ftp://x", "http://"} {
		if _, err := NewPing(bad, 0, nil, quiet()); err == nil {
			t.Errorf("ping %q is taken", bad)
		}
		if _, err := NewAlertmanager(bad, nil, quiet()); err == nil {
			t.Errorf("alertmanager %q is taken", bad)
		}
	}
	if _, err := NewPing("http://x", time.Second, nil, quiet()); err == nil {
		t.Error("a ping every second is taken")
	}
}
