package config

import (
	"fmt"
	"net/url"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/alert"
	"github.com/nightclamp/nightclamp/cure"
	"github.com/nightclamp/nightclamp/press"
)

func (f *faults) ways(c *Config) {
	names := map[string]bool{}
	for i := range c.Alert.Ways {
		w, at := &c.Alert.Ways[i], fmt.Sprintf("alert.way[%d]", i)
		f.name(at+".name", w.Name)
		if w.Name == alert.LogWay {
			f.at(at+".name", "the way out %q is always there; give this one another name", w.Name)
		}
		if names[w.Name] {
			f.at(at+".name", "two ways out are named %q; give one another name", w.Name)
		}
		names[w.Name] = true
		f.severity(at+".at_least", w.AtLeast)
		f.wayURL(at, w)
		f.between(at+".after", w.After, 0, 24*time.Hour)
		if _, err := alert.ParseQuiet(w.Quiet, time.UTC); err != nil {
			f.at(at+".quiet", "the way out %q: %v", w.Name, err)
		}
	}
}

func (f *faults) severity(path string, s press.Severity) {
	known := []string{string(press.Note), string(press.Warn), string(press.Wake)}
	for _, k := range known {
		if string(s) == k {
			return
		}
	}
	hint := ""
	if near, ok := cure.Nearest(string(s), known); ok {
		hint = fmt.Sprintf("did you mean %q? ", near)
	}
	f.at(path, "at_least %q is not known; %suse %s", string(s), hint, strings.Join(known, ", "))
}

// wayURL fetches the URL from its file and looks at its scheme. No message may
// repeat the URL: it is a secret.
func (f *faults) wayURL(at string, w *Way) {
	if w.URL == "" && w.URLFile == "" {
		f.at(at, "the way out %q has no url; give url, or url_file with a file that holds it", w.Name)
		return
	}
	w.URL = f.secret(at+".url", w.URL, w.URLFile)
	if w.URL == "" {
		return // said already
	}
	if scheme, rest, ok := strings.Cut(w.URL.Value(), "://"); !ok || scheme == "" || rest == "" || strings.ContainsAny(scheme, " /") {
		f.at(at+".url", "the URL of the way out %q (not shown) must look like service://…, such as smtp://, ntfy:// or generic+https://", w.Name)
	}
}

// elsewhere checks the watchers outside: an Alertmanager, and who hears the
// sign of life.
func (f *faults) elsewhere(a *Alert) {
	if a.Alertmanager != "" {
		for u := range strings.SplitSeq(a.Alertmanager.Value(), ",") {
			f.web("alert.alertmanager", strings.TrimSpace(u), "http://host:9093")
		}
	}
	a.Ping.URL = f.secret("alert.ping.url", a.Ping.URL, a.Ping.URLFile)
	if a.Ping.URL != "" {
		f.web("alert.ping.url", a.Ping.URL.Value(), "https://host/path")
	}
	f.between("alert.ping.every", a.Ping.Every, 10*time.Second, 24*time.Hour)
}

// web checks a URL without repeating it: people put passwords there.
func (f *faults) web(path, text, example string) {
	u, err := url.Parse(text)
	if err != nil || (u.Scheme != "http" && u.Scheme != "https") || u.Host == "" {
		f.at(path, "%s (not shown) cannot be read; write it as %s", path, example)
	}
}

// AlertWays returns the ways out as the alerts know them.
func (c *Config) AlertWays() []alert.Way {
	ways := make([]alert.Way, 0, len(c.Alert.Ways))
	for _, w := range c.Alert.Ways {
		quiet, err := alert.ParseQuiet(w.Quiet, c.Display.Units().Location)
		if err != nil { // Load has refused it
			quiet = alert.Quiet{}
		}
		ways = append(ways, alert.Way{
			Name: w.Name, URL: w.URL.Value(), AtLeast: w.AtLeast, After: w.After.Std(), Quiet: quiet,
		})
	}
	return ways
}
