package main

import (
	"context"
	"errors"

	"github.com/spf13/cobra"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
	"github.com/nightclamp/nightclamp/press/wire"
)

func (a *app) weatherCmd() *cobra.Command {
	o := press.WeatherOrder{LowC: press.Unknown(), HighC: press.Unknown()}
	var low, high units.Temperature
	c := &cobra.Command{
		Use:     "weather",
		GroupID: "run",
		Short:   "Tell how cold and how warm the coming 24 hours get",
		Long: `Weather tells the running daemon the lowest and the highest temperature that the
coming 24 hours bring where the press stands. Weather that turns is not in the record
of a thermometer: in an unheated shed a weather report makes the expected end of a
press of 24 hours right within a tenth in about nine nights of ten instead of eight.

A report is of the air outdoors. A shed keeps some of the day: give what last night
was like in the shed, plus or minus what the report says of tonight against last
night. Half of the story is welcome: --low alone, or --high.

It is taken with bounds of its own, beside what the thermometer has shown; it holds
for 24 hours, over a restart and for a run that begins in between, and is forgotten
then. It can be told anew at any time. What the config says ([shop] night_low,
day_high) waits until then. Status shows what is known.`,
		Example: `  nightclamp weather --low -2C --high 7C
  nightclamp weather --low 28F --press sled
  nightclamp weather --forget`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if cmd.Flags().Changed("low") {
				o.LowC = press.Num(low.C())
			}
			if cmd.Flags().Changed("high") {
				o.HighC = press.Num(high.C())
			}
			if !o.Forget && !o.LowC.Known() && !o.HighC.Known() {
				return usageError{errors.New("what is the weather to be? nightclamp weather --low -2C --high 7C")}
			}
			return a.order(cmd.Context(), func(ctx context.Context, c *wire.Client) (press.Status, error) {
				st, err := c.Weather(ctx, o)
				if err != nil {
					return st, err
				}
				return st, a.weatherTaken(st)
			})
		},
	}
	flags := c.Flags()
	flags.Var(&low, "low", "the lowest of the coming 24 hours, with its unit")
	flags.Var(&high, "high", "the highest")
	flags.BoolVar(&o.Forget, "forget", false, "take back what was told")
	flags.StringVarP(&o.Press, "press", "p", "", "which press, where there are several")
	a.jsonFlag(c)
	return c
}

// weatherTaken says what was understood.
func (a *app) weatherTaken(st press.Status) error {
	if st.Weather == nil {
		return a.tell("Forgotten: the forecast goes by the thermometer again.")
	}
	cfg, err := a.config()
	if err != nil {
		return err
	}
	d := cfg.Display.Units()
	return a.tell("Taken: %s, good until %s.", weatherWords(*st.Weather, d), d.Clock(st.Weather.Until, st.Time))
}
