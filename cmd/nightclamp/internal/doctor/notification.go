package doctor

import (
	"context"
	"fmt"
	"net/url"
	"os"
	"strings"

	"github.com/nightclamp/nightclamp/alert"
	"github.com/nightclamp/nightclamp/press"
)

const notification = "notification"

// notification opens every way out, tries whether its service is reached, and
// sends a test only when told to.
func (e *examination) notification(ctx context.Context) {
	ways := e.cfg.AlertWays()
	if len(ways) == 0 && e.cfg.Alert.Alertmanager == "" {
		e.add(notification, Attention, "nobody is told: there is no way out for alerts but the log", "add an [[alert.way]] to the config (nightclamp config sample explains it), or stay awake")
	}
	for _, w := range ways {
		e.way(ctx, w)
	}
	e.others(ctx)
	e.secrets()
	if e.Send {
		e.send(ctx, ways)
	}
}

// way opens one way and reaches for its service.
func (e *examination) way(ctx context.Context, w alert.Way) {
	if _, err := e.Ways([]alert.Way{w}); err != nil {
		e.add(notification, Wrong, err.Error(), "correct its url; nightclamp config sample shows some")
		return
	}
	what := fmt.Sprintf("the service of way %q", w.Name)
	address := alert.Address(w.URL)
	if address == "" {
		e.ok(notification, "the URL of way %q is read; where its service is is not known before something is sent (--send)", w.Name)
		return
	}
	e.reach(ctx, notification, what, address, "is the network up, and is the host in its url right?")
}

// others are an Alertmanager and the watcher elsewhere.
func (e *examination) others(ctx context.Context) {
	for text := range strings.SplitSeq(e.cfg.Alert.Alertmanager.Value(), ",") {
		if address := webAddress(strings.TrimSpace(text)); address != "" {
			e.reach(ctx, notification, "the Alertmanager", address, "is it running? Check alert.alertmanager")
		}
	}
	if address := webAddress(e.cfg.Alert.Ping.URL.Value()); address != "" {
		e.reach(ctx, notification, "the watcher of the sign of life", address, "is the network up? Check alert.ping.url")
	}
}

// webAddress is host and port of an http or https URL; empty when there is none.
func webAddress(text string) string {
	u, err := url.Parse(text)
	if err != nil || u.Hostname() == "" {
		return ""
	}
	port := u.Port()
	if port == "" {
		port = map[string]string{"http": "80", "https": "443"}[u.Scheme]
	}
	return u.Hostname() + ":" + port
}

// secrets looks whether the config, when it holds secrets itself, is closed to
// other users.
func (e *examination) secrets() {
	if e.cfg.Path == "" {
		return
	}
	holds := e.cfg.NATS.PasswordFile == "" && e.cfg.NATS.Password != "" ||
		e.cfg.NATS.TokenFile == "" && e.cfg.NATS.Token != "" ||
		e.cfg.Alert.Ping.URLFile == "" && e.cfg.Alert.Ping.URL != ""
	for _, w := range e.cfg.Alert.Ways {
		holds = holds || w.URLFile == "" && w.URL != ""
	}
	info, err := os.Stat(e.cfg.Path)
	if err == nil && holds && info.Mode().Perm()&0o004 != 0 {
		e.add(notification, Attention, fmt.Sprintf("%s holds secrets and every user of this machine may read it", e.cfg.Path), fmt.Sprintf("sudo chgrp %s %s && sudo chmod 640 %s", daemonUser, e.cfg.Path, e.cfg.Path))
	}
}

// send has a marked test sent, by the daemon where one runs.
func (e *examination) send(ctx context.Context, ways []alert.Way) {
	var tried []press.Tried
	var err error
	if e.daemon != nil {
		tried, err = e.daemon.TestWays(ctx)
	} else {
		var opened alert.Ways
		if opened, err = e.Ways(ways); err == nil {
			tried = opened.Test(ctx, e.cfg.Site)
		}
	}
	if err != nil {
		e.add(notification, Wrong, fmt.Sprintf("the test could not be sent: %v", err), "see the other findings")
		return
	}
	for _, t := range tried {
		if t.Error != "" {
			e.add(notification, Wrong, fmt.Sprintf("way %q did not take the test: %s", t.Way, t.Error), "correct its url, or look at the service")
			continue
		}
		e.ok(notification, "way %q took the test; look whether it arrived", t.Way)
	}
}
