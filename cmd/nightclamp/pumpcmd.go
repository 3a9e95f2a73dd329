package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/pins"
)

func (a *app) pumpCmd() *cobra.Command {
	c := &cobra.Command{
		Use:     "pump",
		GroupID: "set",
		Short:   "Switch off the relays of electric pumps",
		Long: `A press may have an electric pump that tops it up in the hold: [press.pump] in the
config, off by default. The daemon alone switches it on.

CAUTION. Mains kills, and starts fires. Use a rated, enclosed relay or contactor
with its own fuse, wired by a qualified person to your local electrical code, and so
that the pump is off when the board has no power or the pin is open. nightclamp is
no safety device: a pump that must not run on needs a timer or a pressure switch of
its own.`,
	}
	c.AddCommand(&cobra.Command{
		Use: "off", Short: "Switch every configured pump off", Args: cobra.NoArgs,
		Long: `Off switches off the relays of the config, for the end of the daemon however it came:
the packaged unit has it in ExecStopPost. While the daemon runs it has the pins, and
this fails; stop the daemon, which switches them off too.`,
		RunE: func(*cobra.Command, []string) error {
			cfg, err := a.config()
			if err != nil {
				return err
			}
			return a.pumpsOff(cfg, pins.Machine())
		},
	})
	return c
}

// pumpsOff tries every relay, whatever becomes of the others.
func (a *app) pumpsOff(cfg *config.Config, board pins.Board) error {
	var failed []error
	for _, p := range cfg.Presses {
		if p.Pump.Pin == "" {
			continue
		}
		pin, err := board(p.Pump.Pin)
		if err == nil {
			_, err = pins.NewRelay(pin, p.Pump.ActiveLow, a.logger())
		}
		if err != nil {
			failed = append(failed, fmt.Errorf("press %s: the pump is not switched off, pull its plug if it runs: %w", p.Name, err))
			continue
		}
		fmt.Fprintf(a.out, "press %s: the pump on pin %s is off\n", p.Name, p.Pump.Pin)
	}
	return errors.Join(failed...)
}
