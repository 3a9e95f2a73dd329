package main

import (
	"context"
	"fmt"
	"os"
	"strings"
	"time"

	"golang.org/x/sync/errgroup"
	"golang.org/x/term"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
	"github.com/nightclamp/nightclamp/press/wire"
)

// live draws the newest statuses until ctx ends, and says how old they are when
// no more come.
func (a *app) live(ctx context.Context, client *wire.Client, name string, d units.Display) error {
	g, ctx := errgroup.WithContext(ctx)
	statuses := make(chan press.Status, 16)
	g.Go(func() error {
		defer close(statuses)
		return client.Watch(ctx, name, func(st press.Status) error {
			select {
			case statuses <- st:
			case <-ctx.Done():
			}
			return nil
		})
	})
	g.Go(func() error { return a.drawLive(ctx, client, newLiveView(d), statuses) })
	return g.Wait()
}

// quietFrom is after how long without a word the view says so.
const quietFrom = 5 * time.Second

func (a *app) drawLive(ctx context.Context, client *wire.Client, v *liveView, statuses <-chan press.Status) error {
	second := time.NewTicker(time.Second)
	defer second.Stop()
	heard := time.Now()
	for {
		select {
		case st, open := <-statuses:
			if !open {
				return nil
			}
			heard = time.Now()
			if v.take(st) {
				course, err := client.Course(ctx, press.CourseOrder{Press: st.Press})
				if err == nil { // else the picture begins now, which is no reason to show nothing
					v.seed(course)
				}
			}
		case <-second.C:
			if time.Since(heard) < quietFrom {
				continue
			}
		}
		if _, err := fmt.Fprint(a.out, a.frame(v, time.Since(heard))); err != nil {
			return err
		}
	}
}

// frame is one picture of the screen: drawn over the one before, without
// clearing it, which would flicker on a slow line.
func (a *app) frame(v *liveView, quiet time.Duration) string {
	width, height := a.screen()
	lines := v.lines(width, height-1, quiet)
	if !utf8Terminal() {
		for i := range lines {
			lines[i] = plainLetters().Replace(lines[i])
		}
	}
	return "\x1b[H" + strings.Join(lines, "\x1b[K\r\n") + "\x1b[K\x1b[J"
}

// screen is the size of the terminal: 80 by 24 where it does not say.
func (a *app) screen() (width, height int) {
	if f, ok := a.out.(*os.File); ok {
		if w, h, err := term.GetSize(int(f.Fd())); err == nil && w >= 40 && h >= 12 {
			return w, h
		}
	}
	return 80, 24
}

// utf8Terminal reports whether the locale says UTF-8, by POSIX's order of
// precedence.
func utf8Terminal() bool {
	for _, name := range []string{"LC_ALL", "LC_CTYPE", "LANG"} {
		if v := strings.ToLower(os.Getenv(name)); v != "" {
			return strings.Contains(v, "utf-8") || strings.Contains(v, "utf8")
		}
	}
	return false
}

// plainLetters stand for what a terminal without UTF-8 cannot show.
func plainLetters() *strings.Replacer {
	return strings.NewReplacer("┤", "|", "┼", "|", "─", "-", "╭", ".", "╮", ".", "╰", "'", "╯", "'", "│", "|",
		"╴", "-", "╶", "-", "┬", "+", "└", "+", "°", "", "·", "-", "–", "-",
		"³", "3", "²", "2", "µ", "u")
}
