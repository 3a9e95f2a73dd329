package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"github.com/nightclamp/nightclamp/deploy"
)

func (a *app) configCmd() *cobra.Command {
	c := &cobra.Command{
		Use:     "config",
		GroupID: "set",
		Short:   "Check and show the configuration",
		Long: `The configuration is one TOML file. It is strict: an unknown key, a value without
its unit and a floor that the room cannot give are errors, each with its line.`,
	}
	c.AddCommand(
		&cobra.Command{
			Use: "check", Short: "Check the config and say what is wrong, all at once", Args: cobra.NoArgs,
			RunE: func(*cobra.Command, []string) error { return a.checkConfig() },
		},
		&cobra.Command{
			Use: "show", Short: "Show the config in force, with what the file leaves out", Args: cobra.NoArgs,
			Long: `Show prints every setting that is in force, as a file of the same form. Secrets are
hidden.`,
			RunE: func(*cobra.Command, []string) error {
				cfg, err := a.config()
				if err != nil {
					return err
				}
				return cfg.Show(a.out)
			},
		},
		&cobra.Command{
			Use: "sample", Short: "Print a sample config with every key explained", Args: cobra.NoArgs,
			RunE: func(*cobra.Command, []string) error {
				_, err := fmt.Fprint(a.out, deploy.SampleConfig())
				return err
			},
		},
	)
	return c
}

func (a *app) checkConfig() error {
	cfg, err := a.config()
	if err != nil {
		return err
	}
	for _, p := range cfg.Presses {
		if p.Glue == "" {
			continue
		}
		if _, _, err := sheetsOf(cfg)(p.Glue); err != nil {
			return usageError{fmt.Errorf("press %s: %w", p.Name, err)}
		}
	}
	for _, warning := range cfg.Warnings() {
		fmt.Fprintf(a.err, "warning: %s\n", warning)
	}
	where := cfg.Path
	if where == "" {
		where = "no config file: the defaults"
	}
	sensors := 0
	for _, p := range cfg.Presses {
		sensors += len(p.Sensors)
	}
	_, err = fmt.Fprintf(a.out, "%s: good; site %s, %d press(es), %d sensor(s)\n", where, cfg.Site, len(cfg.Presses), sensors)
	return err
}
