package wire

import (
	"encoding/json"
	"fmt"
	"math"
	"net"
	"strings"
	"testing"
	"time"

	"github.com/nats-io/nats.go"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/sensor"
)

func TestPublish(t *testing.T) {
	l := link(t, Config{Version: "v1.2.3", Heartbeat: time.Hour})
	got := listen(t, l.URL(), "nightclamp.shed.deck.>") // without the heartbeat, which comes when it will
	s := sensor.Sample{Time: testStart, Bag: 16000, Ambient: 100000.5, GlueLine: 11.5, Air: math.NaN(), Quality: sensor.Gauge | sensor.AirSilent}
	l.Sample("deck", `deck "1"`, s)
	m := receive(t, got)
	want := `{"schema":1,"time":"2026-10-16T19:00:00Z","site":"shed","press":"deck","run":"deck \"1\"",` +
		`"bag_pa":16000,"ambient_pa":100000.5,"vacuum_pa":84000.5,"glueline_c":11.5,"air_c":null,"humidity_pct":null,"quality":["gauge","air_silent"]}`
	if m.Subject != "nightclamp.shed.deck.sample" || string(m.Data) != want {
		t.Errorf("got %s\n%s\nwant\n%s", m.Subject, m.Data, want)
	}
	var back Sample
	if err := json.Unmarshal(m.Data, &back); err != nil || back.AirC.Known() || back.VacuumPa != 84000.5 {
		t.Errorf("sample reads back as %+v, %v", back, err)
	}
	if err := l.Event(t.Context(), testEvent(0, press.HoldStarted)); err != nil {
		t.Fatal(err)
	}
	m = receive(t, got)
	if m.Subject != "nightclamp.shed.deck.event.hold_started" || m.Header.Get("Nats-Msg-Id") == "" {
		t.Errorf("event on %s with headers %v", m.Subject, m.Header)
	}
	a := press.Alert{ID: "deck/leak_found/1", Name: "leak_found", Site: "shed", Press: "deck", State: press.AlertRaised, At: testStart}
	if err := l.Alert(t.Context(), a); err != nil {
		t.Fatal(err)
	}
	m = receive(t, got)
	if m.Subject != "nightclamp.shed.deck.alert.leak_found" || !strings.Contains(string(m.Data), `"schema":1`) {
		t.Errorf("alert on %s: %s", m.Subject, m.Data)
	}
}

func TestStatusIsSentOnChangeOrOnceASecond(t *testing.T) {
	l := link(t, Config{})
	now := time.Now()
	st := press.Status{Press: "deck", Stage: press.Hold}
	steps := []struct {
		at     time.Duration
		change func()
		sent   bool
	}{
		{0, func() {}, true},
		{500 * time.Millisecond, func() { st.VacuumPa++ }, false},
		{600 * time.Millisecond, func() { st.Verdict = press.WillHold }, true},
		{700 * time.Millisecond, func() { st.Conditions = []press.Condition{{Kind: press.LeakFound}} }, true},
		{1699 * time.Millisecond, func() {}, false},
		{1700 * time.Millisecond, func() {}, true},
	}
	for _, s := range steps {
		s.change()
		if got := l.worthSending(st, now.Add(s.at)); got != s.sent {
			t.Errorf("after %s: sent %v, want %v", s.at, got, s.sent)
		}
	}
}

func TestStatusAndHeartbeatAreComplete(t *testing.T) {
	l := link(t, Config{Heartbeat: 20 * time.Millisecond, Version: "v0.1.0"})
	got := listen(t, l.URL(), "nightclamp.shed.heartbeat")
	l.Sample("deck", "", sensor.Blank(testStart))
	for {
		var hb Heartbeat
		if err := json.Unmarshal(receive(t, got).Data, &hb); err != nil {
			t.Fatal(err)
		}
		if hb.Samples["deck"].Equal(testStart) && hb.Version == "v0.1.0" && hb.Schema == 1 {
			break
		}
	}
	status := listen(t, l.URL(), "nightclamp.shed.*.status")
	if err := l.Status(press.Status{Press: "deck", Stage: press.Idle}); err != nil {
		t.Fatal(err)
	}
	var st press.Status
	if err := json.Unmarshal(receive(t, status).Data, &st); err != nil || st.Schema != 1 || st.Press != "deck" {
		t.Errorf("status reads back as %+v, %v", st, err)
	}
}

func TestOccupiedPortNamesTheRemedy(t *testing.T) {
	taken, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer taken.Close()
	port := taken.Addr().(*net.TCPAddr).Port
	_, err = Connect(t.Context(), Config{Port: port}, quiet())
	if err == nil {
		t.Fatal("connected on a taken port")
	}
	for _, part := range []string{fmt.Sprint(port), "nats.listen", "nats.url", "in use"} {
		if !strings.Contains(err.Error(), part) {
			t.Errorf("error %q does not say %q", err, part)
		}
	}
}

func TestConfigErrors(t *testing.T) {
	for _, c := range []struct {
		cfg  Config
		says []string
	}{
		{Config{Site: "boat shed"}, []string{"boat shed", "boat-shed"}},
		{Config{Host: "0.0.0.0"}, []string{"nats.host", "nats.token"}},
		{Config{Port: 70000}, []string{"nats.listen", "70000"}},
		{Config{URL: "http://x:1"}, []string{"nats.url", "http", "nats://"}},
		{Config{URL: "nats://"}, []string{"no host"}},
		{Config{URL: "nats://u:secret@ho st"}, []string{"nats.url"}},
		{Config{URL: "nats://h", Credentials: "/nowhere/x.creds"}, []string{"nats.credentials", "/nowhere/x.creds"}},
		{Config{URL: "nats://h", CA: "/nowhere/ca.pem"}, []string{"nats.ca", "/nowhere/ca.pem"}},
		{Config{URL: "nats://h", Cert: "x.pem"}, []string{"nats.cert", "nats.key"}},
		{Config{StoreDir: "/dev/null/store", Port: -1}, []string{"/dev/null"}},
	} {
		l, err := Connect(t.Context(), c.cfg, quiet())
		if err == nil {
			l.Close()
			t.Errorf("%+v: no error", c.cfg)
			continue
		}
		for _, part := range append(c.says, "") {
			if !strings.Contains(err.Error(), part) || strings.Contains(err.Error(), "secret") {
				t.Errorf("%+v: error %q should say %q and keep secrets", c.cfg, err, part)
			}
		}
	}
}

func TestUnreachableServerHoldsNothingUp(t *testing.T) {
	gone, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	url := "nats://user:secret@" + gone.Addr().String()
	gone.Close()
	l := link(t, Config{URL: url})
	if strings.Contains(l.URL(), "secret") {
		t.Errorf("URL %q tells the password", l.URL())
	}
	for i := range 1000 {
		l.Sample("deck", "", sensor.Blank(testStart))
		if err := l.Event(t.Context(), testEvent(i, press.Settled)); err != nil {
			t.Fatal(err)
		}
	}
	if l.Up() || l.Held() != 1000 || l.Dropped() < 1000 {
		t.Errorf("up %v, held %d, dropped %d", l.Up(), l.Held(), l.Dropped())
	}
}

func TestEmbeddedServerAsksForTheToken(t *testing.T) {
	l := link(t, Config{Token: "tok"})
	if _, err := nats.Connect(l.URL()); err == nil {
		t.Error("let in without a token")
	}
	listen(t, l.URL(), "nightclamp.>", nats.Token("tok"))
}

func TestValidToken(t *testing.T) {
	for _, ok := range []string{"deck", "Deck_2", "a-b", "7"} {
		if err := ValidToken(ok); err != nil {
			t.Errorf("%q: %v", ok, err)
		}
	}
	for _, bad := range []string{"", "a b", "a.b", "*", ">", "ä", "a/b", strings.Repeat("x", 65)} {
		if ValidToken(bad) == nil {
			t.Errorf("%q is taken for a token", bad)
		}
	}
}

func TestMemoryBacklogIsBoundedAndKeepsOrder(t *testing.T) {
	b := NewMemory(2)
	for i, id := range []string{"a", "b", "b", "c"} {
		err := b.Put(t.Context(), Message{ID: id})
		if (err != nil) != (i == 3) {
			t.Errorf("put %s: %v", id, err)
		}
	}
	m, ok, _ := b.Next(t.Context())
	if !ok || m.ID != "b" || b.Len() != 2 {
		t.Errorf("next is %q, %d wait; the oldest should have gone", m.ID, b.Len())
	}
	for _, id := range []string{"b", "c", "c"} {
		if err := b.Taken(t.Context(), id); err != nil {
			t.Error(err)
		}
	}
	if _, ok, _ := b.Next(t.Context()); ok {
		t.Error("something is left")
	}
}
