package main

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
	"github.com/nightclamp/nightclamp/press/wire"
)

func (a *app) startCmd() *cobra.Command {
	o := press.StartOrder{FloorPa: press.Unknown()}
	var floor units.Pressure
	var flat bool
	var plan string
	c := &cobra.Command{
		Use:     "start [flags]",
		GroupID: "run",
		Short:   "Begin a run: glue is being spread from now on",
		Long: `Start tells the daemon that glue is being spread. From now on it counts down the
assembly time; the stack must be under vacuum before it runs out.

A forgotten start loses nothing: a run begins by itself when the vacuum is drawn,
with the default adhesive of the config. A start after that gives the run its
name and adhesive, and works everything out again from the record.`,
		Example: `  nightclamp start --work "sled deck 4" --glue pva-d3 --plies 9 --area 0.21
  nightclamp start --press bench2 --glue ./my-glue.toml --floor 19inHg`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			var err error
			if plan != "" {
				if o, err = a.fromLayup(o, plan); err != nil {
					return err
				}
			}
			if floor != 0 {
				o.FloorPa = press.Num(floor.Pa())
			}
			if o.Sheet, err = a.ownSheet(o.Glue); err != nil {
				return err
			}
			if cmd.Flags().Changed("flat") {
				strained := !flat
				o.Strained = &strained
			}
			return a.order(cmd.Context(), func(ctx context.Context, c *wire.Client) (press.Status, error) {
				return c.Start(ctx, o)
			})
		},
	}
	f := c.Flags()
	f.StringVarP(&o.Press, "press", "p", "", "which press, where there are several")
	f.StringVarP(&o.Glue, "glue", "g", "", "adhesive: a datasheet's `name`; empty: the config's default")
	f.StringVarP(&o.Work, "work", "w", "", "what is being pressed")
	f.Var(&floor, "floor", "the vacuum not to go below, with its unit")
	f.IntVar(&o.Plies, "plies", 0, "number of plies")
	f.Float64Var(&o.AreaM2, "area", 0, "area, m²")
	f.StringVar(&o.Notes, "notes", "", "anything worth knowing later")
	f.BoolVar(&flat, "flat", false, "the work is flat and not strained by a mould")
	f.StringVar(&plan, "layup", "", "take what is not given from a lay-up `file` (see nightclamp plan)")
	a.jsonFlag(c)
	return c
}

// fromLayup gives the order its lay-up; the daemon takes from it what the order
// leaves open. Its glue is taken here, where a datasheet of one's own is read.
func (a *app) fromLayup(o press.StartOrder, path string) (press.StartOrder, error) {
	l, text, err := a.readLayup(path)
	if err != nil {
		return o, err
	}
	o.Layup = string(text)
	if o.Glue == "" {
		o.Glue = l.Glue
	}
	return o, nil
}

func (a *app) topUpCmd() *cobra.Command {
	strokes := 0
	c := a.markCmd("top-up [NOTE]", "Mark that you are pumping the bag up again",
		`Top-up writes into the record that you pumped. The daemon sees the vacuum rise by
itself; the mark says that it was you, and why. When the vacuum shows nothing of it
within ten minutes, a hose may be pinched, and the daemon says so. With the number
of strokes, and stroke_l in the config, the free volume of the bag is worked out.`,
		func(ctx context.Context, c *wire.Client, o press.MarkOrder) (press.Status, error) {
			o.Strokes = strokes
			return a.taken("Marked.")(c.TopUp(ctx, o))
		})
	c.Flags().IntVar(&strokes, "strokes", 0, "how many strokes of the hand pump it took")
	return c
}

func (a *app) noteCmd() *cobra.Command {
	return a.markCmd("note TEXT", "Write a note into the record of the run",
		`Note writes what you saw or did into the record, with the time.`,
		func(ctx context.Context, c *wire.Client, o press.MarkOrder) (press.Status, error) {
			return a.taken("Written down.")(c.Note(ctx, o))
		})
}

// taken says, ahead of the sentence, that an order was taken.
func (a *app) taken(words string) func(press.Status, error) (press.Status, error) {
	return func(st press.Status, err error) (press.Status, error) {
		if err != nil {
			return st, err
		}
		return st, a.tell("%s", words)
	}
}

type marker func(context.Context, *wire.Client, press.MarkOrder) (press.Status, error)

func (a *app) markCmd(use, short, long string, mark marker) *cobra.Command {
	var o press.MarkOrder
	c := &cobra.Command{
		Use: use, GroupID: "run", Short: short, Long: long,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Text = strings.Join(args, " ")
			if o.Text == "" && strings.HasSuffix(use, " TEXT") {
				return usageError{fmt.Errorf("a note needs words: nightclamp note \"resin squeezed out on the left\"")}
			}
			return a.order(cmd.Context(), func(ctx context.Context, c *wire.Client) (press.Status, error) {
				return mark(ctx, c, o)
			})
		},
	}
	c.Flags().StringVarP(&o.Press, "press", "p", "", "which press, where there are several")
	a.jsonFlag(c)
	return c
}

// order gives one order to the daemon and prints the status after it.
func (a *app) order(ctx context.Context, give func(context.Context, *wire.Client) (press.Status, error)) error {
	client, _, err := a.client(ctx)
	if err != nil {
		return err
	}
	defer client.Close()
	st, err := give(ctx, client)
	if err != nil {
		return err
	}
	if a.asJSON {
		return a.printJSON(st)
	}
	name := st.Run
	if name == "" {
		name = st.Press
	}
	_, err = fmt.Fprintf(a.out, "%s: %s\n", name, st.Sentence)
	return err
}

// tell says an answer to an order, ahead of the sentence.
func (a *app) tell(format string, args ...any) error {
	if a.asJSON {
		return nil
	}
	_, err := fmt.Fprintf(a.out, format+"\n", args...)
	return err
}
