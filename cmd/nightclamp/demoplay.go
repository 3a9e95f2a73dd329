package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"golang.org/x/term"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/daemon"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
)

// demo plays the night with everything that serve has.
func (a *app) demo(ctx context.Context, f demoFlags) error {
	cfg := config.Default()
	cfg.Site = demoStation(units.Display{}).Site
	folder, err := os.MkdirTemp("", "nightclamp-demo-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder) //nolint:errcheck // a temporary folder
	cfg.Data = folder
	display := cfg.Display.Units()
	feed := newDemoFeed(f.speed, display.Location)
	h := house{
		cfg: cfg, log: newStoryLog(a), anyPort: true, now: feed.now, speed: f.speed,
		stations: []daemon.StationConfig{demoStation(display)}, feeds: []daemon.Feed{feed},
	}
	return a.open(ctx, h, func(ctx context.Context, open *opened) error {
		fmt.Fprintf(a.out, "A birch sled deck in a boat shed, one October night, %g times faster than life.\n"+
			"  page     %s\n  metrics  %s/metrics\n  NATS     %s\n"+
			"Ctrl-C ends it. In another terminal: nightclamp status, nightclamp watch\n\n",
			f.speed, open.page, open.page, open.link.URL())
		err := a.playDemo(ctx, open.daemon, feed)
		if err == nil && ctx.Err() == nil && a.interactive() {
			fmt.Fprintf(a.out, "\nThe night is over. The page stays until Ctrl-C: %s\n", open.page)
			<-ctx.Done()
		}
		return err
	})
}

// playDemo runs the daemon to the end of the night and prints the sentence
// whenever it changes.
func (a *app) playDemo(ctx context.Context, d *daemon.Daemon, feed *demoFeed) error {
	teller := &teller{app: a, daemon: d, feed: feed}
	feed.heard = teller.tell
	return d.Run(ctx)
}

// teller speaks for the demo: the builder's words into the daemon, the
// daemon's sentence to the terminal.
type teller struct {
	app    *app
	daemon *daemon.Daemon
	feed   *demoFeed
	said   string
	key    string
	saidAt time.Duration
}

// tell is called after each sample.
func (t *teller) tell(ctx context.Context) error {
	f := t.feed
	for len(f.words) > 0 && f.at >= f.words[0].at {
		if err := f.words[0].say(ctx, t.daemon); err != nil {
			return err
		}
		f.words = f.words[1:]
	}
	st := t.daemon.Statuses()[0]
	if !t.changed(st) {
		return nil
	}
	t.said, t.saidAt = st.Sentence, f.at
	at := units.Display{Location: f.begin.Location()}.TimeOfDay(st.Time)
	_, err := fmt.Fprintf(t.app.out, "%s  %s\n", at, wrapAfter(st.Sentence, 72, "       "))
	return err
}

// changed reports whether the sentence says something new. A forecast that moves
// by a few minutes changes its words all the time: that is told once in an hour of
// the night.
func (t *teller) changed(st press.Status) bool {
	key := fmt.Sprint(st.Stage, st.Verdict, st.Leaking, len(st.Conditions))
	if st.Sentence == t.said || (key == t.key && t.feed.at-t.saidAt < time.Hour) {
		return false
	}
	t.key = key
	return true
}

// interactive reports whether what is printed is seen on a terminal.
func (a *app) interactive() bool { return isTerminal(a.out) }

// keyboard reports whether somebody can press a key.
func (a *app) keyboard() bool { return isTerminal(a.in) }

func isTerminal(stream any) bool {
	file, ok := stream.(*os.File)
	return ok && term.IsTerminal(int(file.Fd())) //nolint:gosec // a file descriptor is small
}

// databasePath is where the record of a config is.
func databasePath(cfg *config.Config) string { return filepath.Join(cfg.Data, "nightclamp.db") }
