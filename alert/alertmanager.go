package alert

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"log/slog"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// Alertmanager tells a Prometheus Alertmanager what is wrong, through version 2
// of its API, natively: it sends every active alert again and again, each time
// with an end a few minutes ahead, and what is over with the end that it had. So
// nothing need be kept for it: whatever it missed, the next telling puts right,
// and when nightclamp itself falls silent its alerts end there by themselves.
//
// Labels are alertname, site, press and severity; the text is the annotation
// "summary". What is acknowledged goes on being told: silencing is the
// Alertmanager's own business.
type Alertmanager struct {
	targets []string
	active  func() []press.Alert
	log     *slog.Logger
	client  *http.Client
	hide    redactor
	kick    chan struct{}

	told map[string]standing // by ID
	down bool
}

type standing struct {
	alert press.Alert
	ended time.Time // zero: still active
}

const (
	// tellEvery is how often everything is told again.
	tellEvery = time.Minute
	// tellAhead is how long an alert lasts there without being told again: the
	// resolve_timeout of an Alertmanager as it comes.
	tellAhead = 5 * time.Minute
	// tellOver is how long it is told that an alert is over.
	tellOver = 15 * time.Minute
)

// NewAlertmanager returns a teller for http(s)://[user:password@]host:9093[/prefix],
// or several with commas between: every one of a cluster must be told. active
// lists the alerts of all presses.
func NewAlertmanager(urls string, active func() []press.Alert, log *slog.Logger) (*Alertmanager, error) {
	m := &Alertmanager{
		active: active, log: log, client: &http.Client{Timeout: 10 * time.Second},
		kick: make(chan struct{}, 1), told: map[string]standing{},
	}
	for raw := range strings.SplitSeq(urls, ",") {
		u, err := url.Parse(strings.TrimSpace(raw))
		if err != nil || (u.Scheme != "http" && u.Scheme != "https") || u.Host == "" {
			return nil, fmt.Errorf("an Alertmanager's URL cannot be read; write it as http://host:9093")
		}
		m.hide.secrets = append(m.hide.secrets, newRedactor(u).secrets...)
		m.targets = append(m.targets, u.JoinPath("api/v2/alerts").String())
	}
	return m, nil
}

// Changed says that an alert changed. It never blocks.
func (m *Alertmanager) Changed() {
	select {
	case m.kick <- struct{}{}:
	default:
	}
}

// Run tells until ctx ends.
func (m *Alertmanager) Run(ctx context.Context) error {
	tick := time.NewTicker(tellEvery)
	defer tick.Stop()
	for {
		m.tell(ctx)
		select {
		case <-ctx.Done():
			return nil
		case <-tick.C:
		case <-m.kick:
		}
	}
}

func (m *Alertmanager) tell(ctx context.Context) {
	now := time.Now()
	m.look(now)
	if len(m.told) == 0 {
		return
	}
	body, err := json.Marshal(m.payload(now))
	if err != nil {
		m.log.Error("alerts cannot be written for the Alertmanager", "err", err)
		return
	}
	down := false
	for _, target := range m.targets {
		if err := m.post(ctx, target, body); err != nil && ctx.Err() == nil {
			down = true
			if !m.down {
				m.log.Error("Alertmanager not told; trying again every minute", "err", err)
			}
		}
	}
	if m.down && !down {
		m.log.Info("Alertmanager is told again")
	}
	m.down = down
}

// look brings what is told up to what is active.
func (m *Alertmanager) look(now time.Time) {
	active := map[string]bool{}
	for _, a := range m.active() {
		active[a.ID] = true
		m.told[a.ID] = standing{alert: a}
	}
	for id, t := range m.told {
		if !active[id] && t.ended.IsZero() {
			t.ended = now
			m.told[id] = t
		}
	}
	maps.DeleteFunc(m.told, func(_ string, t standing) bool { return !t.ended.IsZero() && now.Sub(t.ended) > tellOver })
}

// posted is one alert as the API has it (api/v2/openapi.yaml, postableAlert).
type posted struct {
	Labels      map[string]string `json:"labels"`
	Annotations map[string]string `json:"annotations"`
	StartsAt    time.Time         `json:"startsAt"`
	EndsAt      time.Time         `json:"endsAt"`
}

func (m *Alertmanager) payload(now time.Time) []posted {
	var list []posted
	for _, id := range slices.Sorted(maps.Keys(m.told)) {
		t := m.told[id]
		p := posted{
			Labels: map[string]string{
				"alertname": t.alert.Name, "site": t.alert.Site, "press": t.alert.Press, "severity": string(t.alert.Severity),
			},
			Annotations: map[string]string{"summary": t.alert.Text, "id": t.alert.ID},
			StartsAt:    t.alert.RaisedAt.UTC(), EndsAt: now.Add(tellAhead).UTC(),
		}
		if !t.ended.IsZero() {
			p.EndsAt = t.ended.UTC()
		}
		if p.StartsAt.After(p.EndsAt) { // the samples' clock is ahead of the wall's: the API refuses that
			p.StartsAt = p.EndsAt
		}
		list = append(list, p)
	}
	return list
}

func (m *Alertmanager) post(ctx context.Context, target string, body []byte) error {
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, target, bytes.NewReader(body))
	if err != nil {
		return fmt.Errorf("alertmanager: %s", m.hide.clean(err))
	}
	req.Header.Set("Content-Type", "application/json")
	return post(m.client, req, "alertmanager", m.hide)
}
