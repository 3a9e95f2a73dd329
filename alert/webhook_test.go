package alert

import (
	"encoding/base64"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// TestSignature is the worked example that the makers of the Standard Webhooks
// scheme publish (docs.svix.com, receiving, verifying payloads manually).
func TestSignature(t *testing.T) {
	secret, err := base64.StdEncoding.DecodeString("plJ3nmyCDGBKInavdOK15jsl")
	if err != nil {
		t.Fatal(err)
	}
	got := sign(secret, "msg_loFOjxBNrRLzqYUf", time.Unix(1731705121, 0), []byte(`{"event_type":"ping","data":{"success":true}}`))
	if want := "v1,rAvfW3dJ/X/qxhsaXPOyyCGmRKsaKWcsNccKXlIktD0="; got != want {
		t.Errorf("signature %s, want %s", got, want)
	}
}

const hookSecret = "whsec_MDEyMzQ1Njc4OTAxMjM0NTY3ODkwMTIz" // of the digits 0 to 9, 24 of them

func TestSignedWebhook(t *testing.T) {
	var ids []string
	status := http.StatusBadGateway
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		body, err := io.ReadAll(r.Body)
		if err != nil {
			t.Errorf("body: %v", err)
		}
		at, err := strconv.ParseInt(r.Header.Get("webhook-timestamp"), 10, 64)
		if err != nil || time.Since(time.Unix(at, 0)).Abs() > time.Minute {
			t.Errorf("timestamp %d: %v", at, err)
		}
		id := r.Header.Get("webhook-id")
		ids = append(ids, id)
		want := sign([]byte("012345678901234567890123"), id, time.Unix(at, 0), body)
		if got := r.Header.Get("webhook-signature"); got != want {
			t.Errorf("signature %s, want %s", got, want)
		}
		checkSchema(t, body)
		w.WriteHeader(status)
	}))
	t.Cleanup(srv.Close)
	s := sender(t, "webhook+"+strings.Replace(srv.URL, "http://", "http://"+hookSecret+"@", 1)+"/alerts")
	ways := Ways{list: []openWay{{Way{Name: "hook"}, s}}}
	d := ways.Deliveries([]press.Alert{raisedAt(night, press.Wake, 0)})[0]
	d.AlertID = "deck/margin_gone/20261016T220000.000Z"
	if err := s.Send(t.Context(), d); err == nil || errors.Is(err, ErrPermanent) {
		t.Errorf("502: %v", err)
	}
	status = http.StatusNoContent
	if err := s.Send(t.Context(), d); err != nil {
		t.Error(err)
	}
	if len(ids) != 2 || ids[0] != ids[1] {
		t.Errorf("the second try has another id: %v", ids)
	}
	status = http.StatusUnauthorized
	if err := s.Send(t.Context(), d); !errors.Is(err, ErrPermanent) || strings.Contains(err.Error(), "whsec") {
		t.Errorf("401: %v", err)
	}
}

// checkSchema compares a message with the published schema: the required
// fields, no others, and the words of the enumerations.
func checkSchema(t *testing.T, body []byte) {
	t.Helper()
	text, err := os.ReadFile("webhook.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	var schema struct {
		Required   []string
		Properties map[string]struct{ Enum []any }
	}
	var message map[string]any
	if err := errors.Join(json.Unmarshal(text, &schema), json.Unmarshal(body, &message)); err != nil {
		t.Fatal(err)
	}
	for _, name := range schema.Required {
		if v, there := message[name]; !there || v == "" {
			t.Errorf("field %q is missing or empty in %s", name, body)
		}
	}
	for name, v := range message {
		property, known := schema.Properties[name]
		if !known {
			t.Errorf("field %q is not in the schema", name)
		}
		found := len(property.Enum) == 0
		for _, word := range property.Enum {
			found = found || word == v
		}
		if !found {
			t.Errorf("field %q is %v, not one of %v", name, v, property.Enum)
		}
	}
}

func TestWebhookWantsASecret(t *testing.T) {
	for _, url := range []string{
		"webhook+https://host/x", "webhook+https://whsec_abc@host/x", "webhook+https://user:pw@host/x", "webhook+https://whsec_@host/",
	} {
		if _, err := openSender(url); err == nil || !strings.Contains(err.Error(), "base64") {
			t.Errorf("%s: %v", url, err)
		}
	}
}

func TestTryingEveryWay(t *testing.T) {
	ways := Ways{list: []openWay{
		{Way{Name: "good"}, &phone{}},
		{Way{Name: "bad"}, &phone{fail: func(press.Delivery) error { return errors.New("no such chat") }}},
	}}
	got := ways.Test(t.Context(), "shed")
	if len(got) != 2 || got[0].Way != "good" || got[0].Error != "" || got[1].Error != "no such chat" {
		t.Errorf("tried: %+v", got)
	}
}
