package alert

import (
	"bytes"
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// webhookSchema is the version of [Message].
const webhookSchema = 1

// Message is what the signed webhook posts, as JSON. Its schema is in the file
// webhook.schema.json beside this one.
type Message struct {
	Schema   int              `json:"schema"`
	Key      string           `json:"key"`   // the same for every copy of the same message
	Alert    string           `json:"alert"` // the alert's ID, as an acknowledgement names it
	Press    string           `json:"press"`
	Name     string           `json:"name"` // of the alert, as in its NATS subject
	State    press.AlertState `json:"state"`
	Severity press.Severity   `json:"severity"`
	Title    string           `json:"title"`
	Text     string           `json:"text"`
	Created  time.Time        `json:"created"` // when it was written, by the wall clock
	Attempt  int              `json:"attempt"` // 1 for the first try
	Test     bool             `json:"test,omitempty"`
	Answer   string           `json:"answer_url,omitempty"` // a page with one button that acknowledges the alert
}

// webhook posts messages signed as the open specification Standard Webhooks
// says (standardwebhooks.com, scheme v1): the headers webhook-id,
// webhook-timestamp and webhook-signature, the last an HMAC-SHA256 over
// "id.timestamp.body". Whoever receives it refuses what is not signed so, or
// is older than a few minutes, and drops a second message with the same id.
type webhook struct {
	url    string
	secret []byte
	client *http.Client
	hide   redactor
}

// secretPrefix marks a base64 secret, as the specification has it.
const secretPrefix = "whsec_"

// openWebhook makes a sender of webhook+https://SECRET@host/path. The secret is
// "whsec_" and base64 of 24 to 64 bytes.
func openWebhook(u *url.URL) (Sender, error) {
	w := &webhook{client: &http.Client{Timeout: sendPatience}, hide: newRedactor(u)}
	secret, found := strings.CutPrefix(u.User.Username(), secretPrefix)
	if password, both := u.User.Password(); both { // base64 has no colon, but a user may write user:secret
		secret, found = strings.CutPrefix(password, secretPrefix)
	}
	var err error
	if w.secret, err = base64.StdEncoding.DecodeString(secret); !found || err != nil || len(w.secret) < 24 || len(w.secret) > 64 {
		return nil, fmt.Errorf("a signed webhook wants %s and the base64 of 24 to 64 random bytes before the @: "+
			"make one with `echo %s$(head -c 32 /dev/urandom | base64)`, and write / as %%2F", secretPrefix, secretPrefix)
	}
	target := *u
	target.User, target.Scheme = nil, strings.TrimPrefix(u.Scheme, "webhook+")
	w.url = target.String()
	return w, nil
}

// Send posts one message.
func (w *webhook) Send(ctx context.Context, d press.Delivery) error {
	body, err := json.Marshal(messageOf(d))
	if err != nil {
		return fmt.Errorf("webhook: message as JSON: %w", err)
	}
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, w.url, bytes.NewReader(body))
	if err != nil {
		return fmt.Errorf("webhook: %s", w.hide.clean(err))
	}
	id, at := messageID(d.Key), time.Now()
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("Webhook-Id", id)
	req.Header.Set("Webhook-Timestamp", strconv.FormatInt(at.Unix(), 10))
	req.Header.Set("Webhook-Signature", sign(w.secret, id, at, body))
	return post(w.client, req, "webhook", w.hide)
}

// sign is the signature of a message, scheme v1.
func sign(secret []byte, id string, at time.Time, body []byte) string {
	mac := hmac.New(sha256.New, secret)
	fmt.Fprintf(mac, "%s.%d.", id, at.Unix())
	mac.Write(body)
	return "v1," + base64.StdEncoding.EncodeToString(mac.Sum(nil))
}

// messageID is the key in the letters that the specification allows an id.
func messageID(key string) string {
	sum := sha256.Sum256([]byte(key))
	return "msg_" + base64.RawURLEncoding.EncodeToString(sum[:18])
}

func messageOf(d press.Delivery) Message {
	m := Message{
		Schema: webhookSchema, Key: d.Key, Alert: d.AlertID, State: stateOf(d), Severity: d.Severity,
		Title: d.Title, Text: d.Text, Created: d.Created.UTC(), Attempt: d.Attempts + 1, Test: d.AlertID == testID,
		Answer: d.Answer,
	}
	if parts := strings.Split(d.AlertID, "/"); len(parts) == 3 {
		m.Press, m.Name = parts[0], parts[1]
	}
	return m
}

// post sends a request and makes an error of any answer but a 2xx.
func post(client *http.Client, req *http.Request, who string, hide redactor) error {
	answer, err := client.Do(req)
	if err != nil {
		return fmt.Errorf("%s: %s", who, hide.clean(err))
	}
	defer answer.Body.Close() //nolint:errcheck // read to its end, or not wanted
	said, err := io.ReadAll(io.LimitReader(answer.Body, 300))
	if err != nil {
		said = nil // the status says enough
	}
	if answer.StatusCode < 300 {
		return nil
	}
	err = errors.New(strings.TrimSpace(answer.Status + " " + string(said)))
	if permanentStatus(answer.StatusCode) {
		return fmt.Errorf("%s: %s (%w)", who, hide.clean(err), ErrPermanent)
	}
	return fmt.Errorf("%s: %s", who, hide.clean(err))
}
