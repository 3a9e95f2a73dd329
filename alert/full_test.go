//go:build full

package alert

import (
	"context"
	"encoding/json"
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// TestRealAlertmanager tells Debian's prometheus-alertmanager of an alert, and
// that it is over, and asks it what it thinks.
func TestRealAlertmanager(t *testing.T) {
	binary, err := exec.LookPath("prometheus-alertmanager")
	if err != nil {
		t.Skip("prometheus-alertmanager is not installed; make test installs it")
	}
	base := startAlertmanager(t, binary)
	a := raisedAt(time.Now().UTC().Truncate(time.Millisecond), press.Wake, time.Hour)
	a.Site, a.ID, a.Text = "shed", "deck/margin_gone/x", "The bag falls below your 65 kPa floor at 04:30."
	active := []press.Alert{a}
	m, err := NewAlertmanager(base, func() []press.Alert { return active }, quiet())
	if err != nil {
		t.Fatal(err)
	}
	m.tell(t.Context())
	if m.down {
		t.Fatal("it did not take the alert")
	}
	got := ask(t, base)
	if len(got) != 1 || got[0].Labels["alertname"] != MarginGone || got[0].Annotations["summary"] != a.Text ||
		!got[0].StartsAt.Equal(a.RaisedAt) || got[0].Status.State != "active" {
		t.Errorf("it has %+v", got)
	}
	active = nil
	m.tell(t.Context())
	if got := ask(t, base); len(got) != 0 {
		t.Errorf("it is over, and it has %+v", got)
	}
}

type kept struct {
	posted
	Status struct{ State string }
}

func ask(t *testing.T, base string) []kept {
	t.Helper()
	answer, err := http.Get(base + "/api/v2/alerts?active=true")
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	var list []kept
	if err := json.NewDecoder(answer.Body).Decode(&list); err != nil {
		t.Fatal(err)
	}
	return list
}

func startAlertmanager(t *testing.T, binary string) string {
	t.Helper()
	dir := t.TempDir()
	config := filepath.Join(dir, "am.yml")
	if err := os.WriteFile(config, []byte("route: {receiver: nobody}\nreceivers: [{name: nobody}]\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	address := l.Addr().String()
	l.Close()
	ctx, stop := context.WithCancel(context.Background())
	cmd := exec.CommandContext(ctx, binary, "--config.file="+config, "--storage.path="+dir,
		"--web.listen-address="+address, "--cluster.listen-address=")
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { stop(); cmd.Wait() })
	base := "http://" + address
	deadline := time.After(30 * time.Second)
	tick := time.NewTicker(50 * time.Millisecond)
	defer tick.Stop()
	for {
		if answer, err := http.Get(base + "/-/ready"); err == nil {
			answer.Body.Close()
			if answer.StatusCode == http.StatusOK {
				return base
			}
		}
		select {
		case <-deadline:
			t.Fatal(fmt.Errorf("prometheus-alertmanager at %s is not ready", base))
		case <-tick.C:
		}
	}
}
