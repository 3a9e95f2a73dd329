package main

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/alert"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
)

// leaveAlert puts an active alert into the record of a shed that nobody watches
// yet, with a message on its way by each of ways.
func (s shed) leaveAlert(t *testing.T, ways ...string) press.Alert {
	t.Helper()
	data := filepath.Join(s.folder, "data")
	if err := os.MkdirAll(data, 0o750); err != nil {
		t.Fatal(err)
	}
	store, err := record.Open(t.Context(), filepath.Join(data, "nightclamp.db"), record.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	now := time.Now().UTC().Truncate(time.Millisecond)
	a := press.Alert{
		Schema: press.Schema, ID: "bench/gap/" + now.Format("20060102T150405.000Z"), Name: alert.Gap, Site: "shed", Press: "bench",
		Severity: press.Warn, State: press.AlertRaised, Text: "Nobody watched.", Reason: "gap", RaisedAt: now, At: now,
	}
	var deliveries []press.Delivery
	for _, way := range ways {
		deliveries = append(deliveries, press.Delivery{
			Key: fmt.Sprintf("%s|raised|%d|%s", a.ID, a.At.UnixNano(), way), AlertID: a.ID, Way: way,
			Title: alert.Title(a), Text: a.Text, Severity: a.Severity, Created: now, DueAt: now,
		})
	}
	if err := store.Commit(t.Context(), record.Batch{Alerts: []press.Alert{a}, Deliveries: deliveries}); err != nil {
		t.Fatal(err)
	}
	return a
}

// TestAnswerByLink is the whole way: the message with its link, the page, the
// button, and the alert that is acknowledged, all without a login.
func TestAnswerByLink(t *testing.T) {
	messages := make(chan alert.Message, 4)
	sink := httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		var m alert.Message
		if err := json.NewDecoder(r.Body).Decode(&m); err != nil {
			t.Errorf("message: %v", err)
		}
		messages <- m
	}))
	defer sink.Close()
	secret := "whsec_" + strings.ReplaceAll(base64.StdEncoding.EncodeToString(bytes.Repeat([]byte{1}, 32)), "/", "%2F")
	s := newShed(t, fmt.Sprintf("[[alert.way]]\nname = \"phone\"\nurl = \"webhook+http://%s@%s/\"\n", secret, sink.Listener.Addr()))
	public := fmt.Sprintf("http://127.0.0.1:%d", s.http)
	text := strings.Replace(readFile(t, s.config), "[http]", fmt.Sprintf("[http]\npublic_url = %q", public), 1)
	if err := os.WriteFile(s.config, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	left := s.leaveAlert(t, "phone")
	s.serve(t)
	var m alert.Message
	select {
	case m = <-messages:
	case <-time.After(20 * time.Second):
		t.Fatal("no message")
	}
	if m.Alert != left.ID || !strings.HasPrefix(m.Answer, public+alert.AnswerPath) {
		t.Fatalf("message %+v", m)
	}
	state := func() press.AlertState {
		var all []press.Alert
		r := s.run(t, "alert", "list", "--json")
		if err := json.Unmarshal([]byte(r.out), &all); err != nil || len(all) != 1 {
			t.Fatalf("alerts: %v %s%s", err, r.out, r.err)
		}
		return all[0].State
	}
	if body := s.get(t, strings.TrimPrefix(m.Answer, public)); !strings.Contains(body, "I look after it</button>") || state() != press.AlertRaised {
		t.Errorf("the link was followed, the alert is %s: %s", state(), body)
	}
	answer, err := http.Post(m.Answer, "application/x-www-form-urlencoded", http.NoBody)
	if err != nil {
		t.Fatal(err)
	}
	answer.Body.Close()
	if answer.StatusCode != http.StatusOK || state() != press.AlertAcknowledged {
		t.Errorf("answered: %s, the alert is %s", answer.Status, state())
	}
	forged, err := http.Post(m.Answer[:len(m.Answer)-3]+"AAA", "", http.NoBody)
	if err != nil {
		t.Fatal(err)
	}
	forged.Body.Close()
	if forged.StatusCode != http.StatusNotFound {
		t.Errorf("a forged link: %s", forged.Status)
	}
}

// TestWrongToken: a service that refuses the token is told of, on the command line
// too, and what it did not take stays in the outbox. That it is not tried for ever
// is a test of the dispatcher, which has the time.
func TestWrongToken(t *testing.T) {
	sink := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		http.Error(w, "bad token", http.StatusUnauthorized)
	}))
	defer sink.Close()
	s := newShed(t, fmt.Sprintf("[[alert.way]]\nname = \"phone\"\nurl = \"generic://%s/t0k3n-s3cret?disabletls=yes\"\n", sink.Listener.Addr()))
	left := s.leaveAlert(t, "phone")
	log := s.serve(t)
	var ways []press.WayHealth
	for deadline := time.Now().Add(20 * time.Second); ; {
		r := s.run(t, "alert", "ways", "--json")
		if err := json.Unmarshal([]byte(r.out), &ways); err != nil {
			t.Fatalf("%v: %s%s", err, r.out, r.err)
		}
		if len(ways) == 2 && ways[1].Error != "" {
			break
		}
		if time.Now().After(deadline) {
			t.Fatalf("nothing is said of the refusal: %+v", ways)
		}
	}
	if w := ways[1]; w.Failing.IsZero() || !strings.Contains(w.Error, "401") || strings.Contains(w.Error, "s3cret") || w.Waiting < 1 {
		t.Errorf("way %+v", w)
	}
	if !strings.Contains(log.String(), "alert not delivered; trying on") || strings.Contains(log.String(), "s3cret") {
		t.Errorf("the log: %s", log)
	}
	store, err := record.OpenReadOnly(t.Context(), filepath.Join(s.folder, "data", "nightclamp.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	due, err := store.Due(t.Context(), time.Now().Add(time.Hour), 10)
	for deadline := time.Now().Add(20 * time.Second); len(due) == 1 && due[0].Attempts == 0 && time.Now().Before(deadline); { // it is told before it is kept
		due, err = store.Due(t.Context(), time.Now().Add(time.Hour), 10)
	}
	if err != nil || len(due) != 1 || due[0].AlertID != left.ID || due[0].Attempts != 1 || due[0].Error == "" || time.Until(due[0].DueAt) < 15*time.Second {
		t.Errorf("outbox: %v %+v", err, due)
	}
}
