package main

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/alert"
	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/dashboards/web"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
)

// answersOf makes the links in the messages, nil where the config does not say how
// the page is reached. The key is kept in the data folder: a link of before a
// restart works after it.
func answersOf(cfg *config.Config) (*alert.Answers, error) {
	if cfg.HTTP.PublicURL == "" {
		return nil, nil //nolint:nilnil // there are none, and that is no error
	}
	key, err := sessionKey(filepath.Join(cfg.Data, "answer.key"))
	if err != nil {
		return nil, fmt.Errorf("key of the links in alerts: %w; let nightclamp's user read and write the data folder", err)
	}
	return alert.NewAnswers(cfg.HTTP.PublicURL, key)
}

// pageHosts are the names by which browsers may call the page.
func pageHosts(cfg *config.Config) []string {
	hosts := slices.Clone(cfg.HTTP.Hosts)
	if u, err := url.Parse(cfg.HTTP.PublicURL); err == nil && u.Hostname() != "" {
		hosts = append(hosts, u.Hostname())
	}
	return hosts
}

// desk takes the answers to alerts; see [web.Replies].
type desk struct {
	answers *alert.Answers
	show    units.Display
	now     func() time.Time
	active  func() []press.Alert
	ack     func(context.Context, press.AckOrder) ([]press.Alert, error)
}

func (d desk) read(token string) (alert.Answer, press.Alert, error) {
	to, err := d.answers.Read(token, d.now())
	switch {
	case errors.Is(err, alert.ErrAnswerOld):
		return to, press.Alert{}, press.Errorf(press.Gone, "%v", err)
	case err != nil:
		return to, press.Alert{}, press.Errorf(press.NotFound, "%v", err)
	}
	for _, a := range d.active() {
		if a.ID == to.Alert {
			return to, a, nil
		}
	}
	a := press.Alert{ID: to.Alert, State: press.AlertCleared}
	if parts := strings.Split(to.Alert, "/"); len(parts) == 3 {
		a.Press, a.Name = parts[0], parts[1]
	}
	return to, a, nil
}

// Asked is what a link asks.
func (d desk) Asked(_ context.Context, token string) (web.Question, error) {
	_, a, err := d.read(token)
	if err != nil {
		return web.Question{}, err
	}
	return d.question(a), nil
}

// Reply acknowledges the alert that the link is about.
func (d desk) Reply(ctx context.Context, token string) (web.Question, error) {
	to, a, err := d.read(token)
	if err != nil || a.State != press.AlertRaised {
		return d.question(a), err
	}
	changed, err := d.ack(ctx, press.AckOrder{Press: a.Press, Alert: a.ID, By: "the link sent to " + to.Way})
	switch {
	case err == nil:
		return d.question(changed[0]), nil
	case press.Code(err) == press.NotFound: // it ended just now
		a.State, err = press.AlertCleared, nil
	}
	return d.question(a), err
}

func (d desk) question(a press.Alert) web.Question {
	q := web.Question{Title: alert.Title(a), Text: a.Text, State: a.State, By: a.Reason}
	if !a.RaisedAt.IsZero() {
		q.Since = d.show.Clock(a.RaisedAt, d.now())
	}
	return q
}
