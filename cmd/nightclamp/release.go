package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/wire"
)

func (a *app) releaseCmd() *cobra.Command {
	var yes bool
	c := a.markCmd("release [NOTE]", "Close the run: the bag is being opened",
		`Release closes the run and says what became of it. A run whose glue has reached
its press time is closed by itself when the bag is opened.

In a terminal it asks first while the glue is not done: a blank that is opened early
springs back, and a run that is closed is not opened again. Scripts are not asked.`,
		func(ctx context.Context, c *wire.Client, o press.MarkOrder) (press.Status, error) {
			if !yes && a.keyboard() && a.interactive() {
				if err := a.sure(ctx, c, o.Press); err != nil {
					return press.Status{}, err
				}
			}
			return c.Release(ctx, o)
		})
	c.Flags().BoolVarP(&yes, "yes", "y", false, "do not ask")
	return c
}

// errKept says that the run goes on.
var errKept = errors.New("nothing was changed: the run goes on") //nolint:gochecknoglobals // a sentinel

// sure asks before a run is closed whose glue is not done.
func (a *app) sure(ctx context.Context, c *wire.Client, name string) error {
	all, err := c.Status(ctx, name)
	if err != nil {
		return err
	}
	if len(all) != 1 || !tooEarly(all[0]) {
		return nil // the daemon says what it makes of the rest
	}
	fmt.Fprintf(a.out, "%s\nThe glue has earned %s of its press time under clamp: opened now the blank springs back.\nIs the bag being opened? [y/N] ",
		all[0].Sentence, share(all[0].ClampedProgress))
	answer, err := bufio.NewReader(a.in).ReadString('\n')
	if err != nil || !strings.HasPrefix(strings.ToLower(strings.TrimSpace(answer)), "y") {
		return errKept
	}
	return nil
}

// tooEarly reports whether a bag under vacuum would be opened before its glue is done.
func tooEarly(st press.Status) bool {
	return (st.Stage == press.Pulldown || st.Stage == press.Hold) && st.Glue != "" && st.Verdict != press.Done
}
