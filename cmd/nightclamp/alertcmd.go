package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
)

func (a *app) alertCmd() *cobra.Command {
	c := &cobra.Command{
		Use:     "alert",
		GroupID: "watch",
		Short:   "List and acknowledge alerts",
	}
	c.AddCommand(a.alertListCmd(), a.alertAckCmd())
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
