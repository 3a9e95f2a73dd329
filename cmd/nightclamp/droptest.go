package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"strings"
	"sync/atomic"
	"time"

	"github.com/spf13/cobra"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
	"github.com/nightclamp/nightclamp/press/wire"
)

// The exit codes of drop-test, beside the usual.
const (
	dropHolds = 0
	dropDoubt = 10 // no verdict: it cannot be told, or the test was broken off
	dropFails = 11
)

type dropFlags struct {
	press  string
	hold   units.Duration
	floor  units.Pressure
	within units.Duration
	empty  bool
	cancel bool
	replay string
}

func (a *app) dropTestCmd() *cobra.Command {
	var f dropFlags
	c := &cobra.Command{
		Use:     "drop-test [PRESS]",
		GroupID: "run",
		Short:   "Test, the pump off, whether the bag holds as long as it must",
		Long: `Drop-test asks one question: with the pump off and the valve shut, will the bag
stay above the floor for as long as the glue needs, with nobody touching it?

It tells you what to do, waits until the air in the bag has settled, measures for
as long as the noise of the sensor demands, and answers with the leak, its bounds
and what the bag may leak. That takes from two minutes to an hour; a glue that
gives off gas takes longer. (A rule like "1 inHg in 5 minutes" is for a pump that
runs all night: it would empty a sealed bag in three hours.)

With a run on the press its bag is tested as it is. Without one the empty bag is
tested, best before the glue is open: no run is made of that, and it wakes nobody.
The test goes on in the daemon when this command ends; called again it shows the
test that is under way. Pumping breaks the test off.

Exit codes:
   0  the bag holds
  11  it does not
  10  no verdict: the noise does not let it be told, or the test was broken off
   1  the daemon did not answer, or refused
   2  the arguments are wrong`,
		Example: `  nightclamp drop-test
  nightclamp drop-test sled --hold 24h --floor 65kPa
  nightclamp drop-test --cancel
  nightclamp drop-test --hold 12h --replay night.csv`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				f.press = args[0]
			}
			if f.replay != "" {
				return a.dropReplay(f)
			}
			return a.dropTest(cmd.Context(), f)
		},
	}
	flags := c.Flags()
	flags.StringVarP(&f.press, "press", "p", "", "which press, where there are several")
	flags.Var(&f.hold, "hold", "how long the bag must hold untouched; without it: until the glue is done")
	flags.Var(&f.floor, "floor", "the vacuum it must keep, with its unit; without it: the floor of the run")
	flags.Var(&f.within, "within", "how long you will wait for an answer (6h)")
	flags.BoolVar(&f.empty, "empty", false, "nothing is in the bag: the run that began by itself is none")
	flags.BoolVar(&f.cancel, "cancel", false, "end the test that is under way")
	flags.StringVar(&f.replay, "replay", "", "test the bag of a recorded series, a `file` as replay takes it")
	a.jsonFlag(c)
	return c
}

func (f dropFlags) order() press.DropTestOrder {
	o := press.DropTestOrder{
		Press: f.press, Empty: f.empty, Cancel: f.cancel,
		HoldS: press.Unknown(), FloorPa: press.Unknown(), WithinS: press.Unknown(),
	}
	if f.hold != 0 {
		o.HoldS = press.Num(f.hold.Std().Seconds())
	}
	if f.within != 0 {
		o.WithinS = press.Num(f.within.Std().Seconds())
	}
	if f.floor != 0 {
		o.FloorPa = press.Num(f.floor.Pa())
	}
	return o
}

func (a *app) dropTest(ctx context.Context, f dropFlags) error {
	client, cfg, err := a.client(ctx)
	if err != nil {
		return err
	}
	defer client.Close()
	if f.cancel {
		return a.order(ctx, func(ctx context.Context, c *wire.Client) (press.Status, error) {
			return c.DropTest(ctx, f.order())
		})
	}
	v := &dropView{app: a, client: client, display: cfg.Display.Units(), order: f.order(), terminal: a.interactive() && !a.asJSON}
	v.asks = v.terminal && a.keyboard()
	if err := v.begin(ctx); err != nil {
		return err
	}
	return v.follow(ctx)
}

// dropView guides through one drop test.
type dropView struct {
	app      *app
	client   *wire.Client
	display  units.Display
	order    press.DropTestOrder
	terminal bool // lines can be redrawn
	asks     bool // and somebody can answer
	enter    chan struct{}

	typed atomic.Int32 // lines that Enter made since the last picture
	drawn int          // lines that the last picture took
	said  press.DropState
	at    time.Time // of the last line that was said
	last  press.Status
}

// begin gives the order, unless a test is under way, after it has said what to do.
func (v *dropView) begin(ctx context.Context) error {
	all, err := v.client.Status(ctx, v.order.Press)
	if err != nil {
		return err
	}
	if len(all) != 1 {
		return usageError{fmt.Errorf("there are %d presses: name one, nightclamp drop-test PRESS", len(all))}
	}
	v.last, v.order.Press = all[0], all[0].Press
	d := v.last.DropTest
	switch {
	case d.Running() && (d.State != press.DropShut || v.asks):
		v.listen()
		return nil
	case !d.Running():
		if err := v.introduce(ctx); err != nil {
			return err
		}
	}
	v.last, err = v.client.DropTest(ctx, v.order)
	v.listen()
	return err
}

// listen waits for the Enter key in the background.
func (v *dropView) listen() {
	if !v.asks || v.enter != nil {
		return
	}
	v.enter = make(chan struct{})
	go func() {
		lines := bufio.NewScanner(v.app.in)
		for lines.Scan() {
			v.enter <- struct{}{}
		}
	}()
}

// introduce says what is tested and what to do first.
func (v *dropView) introduce(ctx context.Context) error {
	if v.app.asJSON {
		return nil
	}
	st := v.last
	inRun := st.Run != "" && st.Stage != press.Release && !v.order.Empty && st.Work != press.EmptyBag
	var b strings.Builder
	if inRun {
		fmt.Fprintf(&b, "Drop test of press %s, with run %s in the bag.\n\n", st.Press, strings.TrimSpace(st.Run+" "+st.Work))
	} else {
		fmt.Fprintf(&b, "Drop test of press %s, with nothing in the bag.\n", st.Press)
		fmt.Fprintf(&b, "(Glue in it? Then Ctrl-C, and `nightclamp start` first: an empty bag is not watched.)\n\n")
	}
	pumped := st.VacuumPa.Known() && st.VacuumPa >= st.FloorPa
	if !pumped {
		fmt.Fprintf(&b, "  - Pump the bag down, well past %s.\n", v.display.Pressure(st.FloorPa.Or(0)))
	}
	fmt.Fprintf(&b, "  - Shut the valve at the bag and stop the pump.\n"+
		"  - Hands off the bag and the hose until there is an answer.\n\n")
	if pumped && v.asks {
		fmt.Fprint(&b, "Press Enter when the valve is shut. ")
	}
	if _, err := fmt.Fprint(v.app.out, b.String()); err != nil || !pumped || !v.asks {
		return err
	}
	v.listen()
	select {
	case <-ctx.Done():
		return errors.New("no test was begun")
	case <-v.enter:
		return nil
	}
}

// errOver ends the watch over a test that is over.
var errOver = errors.New("the test is over") //nolint:gochecknoglobals // a sentinel

// follow shows how the test goes on, and its end.
func (v *dropView) follow(ctx context.Context) error {
	if err := v.show(v.last); errors.Is(err, errOver) {
		return v.end()
	} else if err != nil {
		return err
	}
	heard, stop := context.WithCancel(ctx)
	defer stop()
	go v.obey(heard)
	switch err := v.client.Watch(ctx, v.order.Press, v.show); {
	case errors.Is(err, errOver):
		return v.end()
	case err != nil:
		return err
	}
	_, err := fmt.Fprintf(v.app.err, "\nThe test goes on without this window. `nightclamp drop-test` shows it again, "+
		"`nightclamp drop-test --cancel` ends it.\n")
	return errors.Join(err, exitCode(dropDoubt))
}

// obey takes Enter for the builder's word that the valve is shut.
func (v *dropView) obey(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case <-v.enter:
			v.typed.Add(1)
			// Refused when there was nothing to wait for; the picture says so.
			_, _ = v.client.DropTest(ctx, v.order)
		}
	}
}

// show draws how far the test is, or says it in a line now and then.
func (v *dropView) show(st press.Status) error {
	v.last = st
	d := st.DropTest
	if !d.Running() {
		return errOver
	}
	if v.app.asJSON {
		return nil
	}
	head := fmt.Sprintf("%s   vacuum %s", v.display.Clock(st.Time, st.Time), v.display.Pressure(float64(st.VacuumPa)))
	if v.terminal {
		if d.TookS > 0 {
			head += "   measured for " + v.display.SpanSeconds(float64(d.TookS))
		}
		return v.draw(head + "\n" + wrap(v.say(d), 76) + "\n")
	}
	if d.State == v.said && st.Time.Sub(v.at) < 5*time.Minute {
		return nil
	}
	v.said, v.at = d.State, st.Time
	_, err := fmt.Fprintf(v.app.out, "%s   %s\n", head, d.Sentence)
	return err
}

func (v *dropView) say(d *press.DropTest) string {
	if d.State == press.DropShut && v.asks {
		return "Now shut the valve, stop the pump, hands off. Then press Enter."
	}
	return d.Sentence
}

// draw puts text where the last picture was.
func (v *dropView) draw(text string) error {
	up := ""
	if v.drawn > 0 {
		up = fmt.Sprintf("\x1b[%dA\r\x1b[J", v.drawn+int(v.typed.Swap(0)))
	}
	v.drawn = strings.Count(text, "\n")
	_, err := fmt.Fprint(v.app.out, up+text)
	return err
}

// end prints the verdict and returns its exit code.
func (v *dropView) end() error {
	d := v.last.DropTest
	if d == nil {
		return errors.New("the daemon knows of no drop test; begin it again")
	}
	return v.app.dropVerdict(*d)
}

func (a *app) dropVerdict(d press.DropTest) error {
	var err error
	if a.asJSON {
		err = a.printJSON(d)
	} else {
		_, err = fmt.Fprintf(a.out, "\n%s\n", wrap(d.Sentence, 76))
	}
	if err != nil {
		return err
	}
	switch d.Outcome {
	case press.DropHolds:
		return nil
	case press.DropFails:
		return exitCode(dropFails)
	}
	return exitCode(dropDoubt)
}
