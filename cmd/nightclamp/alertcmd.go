package main

import (
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
)

func (a *app) alertCmd() *cobra.Command {
	c := &cobra.Command{
		Use:     "alert",
		GroupID: "watch",
		Short:   "List and acknowledge alerts, try the ways out",
	}
	c.AddCommand(a.alertListCmd(), a.alertAckCmd(), a.alertWaysCmd(), a.alertTestCmd())
	return c
}

func (a *app) alertListCmd() *cobra.Command {
	var name string
	c := &cobra.Command{
		Use: "list", Short: "List the active alerts", Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			client, cfg, err := a.client(cmd.Context())
			if err != nil {
				return err
			}
			defer client.Close()
			alerts, err := client.Alerts(cmd.Context(), name)
			if err != nil {
				return err
			}
			return a.printAlerts(alerts, cfg.Display.Units(), "No alert is active.")
		},
	}
	c.Flags().StringVarP(&name, "press", "p", "", "only this press")
	a.jsonFlag(c)
	return c
}

func (a *app) alertAckCmd() *cobra.Command {
	var o press.AckOrder
	var snooze units.Duration
	c := &cobra.Command{
		Use: "ack [ALERT]", Short: "Say that you look after an alert, or after all of a press", Args: cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 1 {
				o.Alert = args[0]
			}
			o.Snooze = press.Num(snooze.Std().Seconds())
			client, cfg, err := a.client(cmd.Context())
			if err != nil {
				return err
			}
			defer client.Close()
			alerts, err := client.Acknowledge(cmd.Context(), o)
			if err != nil {
				return err
			}
			return a.printAlerts(alerts, cfg.Display.Units(), "Nothing to acknowledge.")
		},
	}
	c.Flags().StringVarP(&o.Press, "press", "p", "", "of which press, where there are several")
	c.Flags().StringVar(&o.By, "by", "", "who looks after it")
	c.Flags().Var(&snooze, "snooze", "speak up again after this long")
	a.jsonFlag(c)
	return c
}

func (a *app) printAlerts(alerts []press.Alert, d units.Display, none string) error {
	if a.asJSON {
		return a.printJSON(alerts)
	}
	if len(alerts) == 0 {
		_, err := fmt.Fprintln(a.out, none)
		return err
	}
	for _, al := range alerts {
		if _, err := fmt.Fprintf(a.out, "%s  %s  %s since %s, %s\n    %s\n", al.Severity, al.Press, al.Name,
			d.Clock(al.RaisedAt, al.At), al.State, wrapAfter(al.Text, 74, "    ")); err != nil {
			return err
		}
	}
	return nil
}

func (a *app) alertWaysCmd() *cobra.Command {
	c := &cobra.Command{
		Use: "ways", Short: "Say how each way out for alerts is doing", Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			client, cfg, err := a.client(cmd.Context())
			if err != nil {
				return err
			}
			defer client.Close()
			ways, err := client.Ways(cmd.Context())
			if err != nil {
				return err
			}
			if a.asJSON {
				return a.printJSON(ways)
			}
			d, now := cfg.Display.Units(), time.Now()
			for _, w := range ways {
				state := "well"
				if !w.Failing.IsZero() {
					state = fmt.Sprintf("failing since %s: %s", d.Clock(w.Failing, now), w.Error)
				}
				if _, err := fmt.Fprintf(a.out, "%-12s %d waiting, %s\n", w.Name, w.Waiting, state); err != nil {
					return err
				}
			}
			return nil
		},
	}
	a.jsonFlag(c)
	return c
}

func (a *app) alertTestCmd() *cobra.Command {
	c := &cobra.Command{
		Use: "test", Short: "Send a marked test through every way out, and say what each said", Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			client, _, err := a.client(cmd.Context())
			if err != nil {
				return err
			}
			defer client.Close()
			tried, err := client.TestWays(cmd.Context())
			if err != nil {
				return err
			}
			if a.asJSON {
				return a.printJSON(tried)
			}
			var failed error
			for _, t := range tried {
				said := "took it"
				if t.Error != "" {
					said, failed = t.Error, errWays
				}
				if _, err := fmt.Fprintf(a.out, "%-12s %s (%.1f s)\n", t.Way, said, t.TookS); err != nil {
					return err
				}
			}
			return failed
		},
	}
	a.jsonFlag(c)
	return c
}

// errWays says that a way out failed; which one has been printed.
var errWays = errors.New("not every way out took the test") //nolint:gochecknoglobals // a sentinel
