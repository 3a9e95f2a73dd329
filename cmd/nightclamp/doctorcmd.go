package main

import (
	"context"
	"fmt"
	"log/slog"
	"net"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"github.com/nightclamp/nightclamp/alert"
	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/doctor"
	"github.com/nightclamp/nightclamp/press/wire"
	"github.com/nightclamp/nightclamp/sensor"
)

func (a *app) doctorCmd() *cobra.Command {
	m := doctor.Machine{
		Now: time.Now, ClockSet: alert.ClockSet, Space: alert.DiskSpace, Read: readPart,
		Dial: (&net.Dialer{}).DialContext, Listen: canListen, Version: version(),
		Ways: func(list []alert.Way) (alert.Ways, error) {
			return alert.NewWays(list, slog.New(slog.DiscardHandler))
		},
	}
	var all bool
	c := &cobra.Command{
		Use:     "doctor",
		GroupID: "set",
		Short:   "Look over the board, the config and the daemon, and say what to do",
		Long: `Doctor checks what a night depends on and says of each thing whether it is ok, wants
attention, or is wrong, with the remedy:

  permissions    may the daemon's user use the buses and ports that the config needs
  buses          I²C, 1-wire and the kernel's own parts
  sensors        each configured sensor is read once; do the readings fit together
  clock          set, sane, and right after a power cut
  disk           the data folder: writable, its file system, space, wear
  record         read through from end to end
  power          undervoltage and heat, where the kernel tells
  network        the ports are free or the daemon's own, NATS, a way out
  notification   each way out is opened and its service reached; nothing is sent
  datasheets     the adhesives that the config names
  daemon         answers, its samples are fresh, its ways out take messages

It changes nothing and sends nothing, except with --send a marked test through every
way out. Asked by root it judges for the user nightclamp, so that what it says holds
for the daemon; --user names another.

Exit codes:
   0  all is ok
  10  something wants attention
  11  something is wrong
   2  the arguments are wrong
   1  doctor itself could not work`,
		Example: `  sudo nightclamp doctor
  nightclamp doctor --all --send
  nightclamp doctor --json | jq '.findings[] | select(.state != "ok")'`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.examine(cmd.Context(), m, all)
		},
	}
	flags := c.Flags()
	flags.BoolVar(&m.Send, "send", false, "send a marked test through every way out")
	flags.BoolVarP(&all, "all", "a", false, "also list what is ok, one by one")
	flags.StringVar(&m.User, "user", "", "whose permissions are judged")
	rootFlag(c, &m.Root)
	a.jsonFlag(c)
	return c
}

func (a *app) examine(ctx context.Context, m doctor.Machine, all bool) error {
	cfg, broken := a.config()
	if broken != nil {
		cfg = config.Default()
		cfg.Path = a.configPath
	}
	m.Reach = func(ctx context.Context) (doctor.Daemon, error) { return reachDaemon(ctx, cfg) }
	r := m.Examine(ctx, cfg, broken)
	if err := ctx.Err(); err != nil {
		return err
	}
	var err error
	if a.asJSON {
		err = a.printJSON(r)
	} else {
		_, err = fmt.Fprint(a.out, reportText(r, all))
	}
	switch {
	case err != nil:
		return err
	case r.State == doctor.Wrong:
		return exitCode(statusTrouble)
	case r.State == doctor.Attention:
		return exitCode(statusDoubt)
	}
	return nil
}

// reachDaemon connects to the daemon and waits for one answer: a NATS server of
// others' may be there without any.
func reachDaemon(ctx context.Context, cfg *config.Config) (doctor.Daemon, error) {
	ctx, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	w := wireConfig(cfg)
	if cfg.Path == "" {
		w.Site = ""
	}
	client, err := wire.Dial(ctx, w)
	if err != nil {
		return nil, err
	}
	if _, err := client.Version(ctx); err != nil {
		client.Close()
		return nil, err
	}
	return client, nil
}

// readPart opens a sensor and reads it once.
func readPart(ctx context.Context, s config.Sensor) (sensor.Sample, error) {
	part, err := configurePart(s)
	if err != nil {
		return sensor.Sample{}, err
	}
	ctx, cancel := context.WithTimeout(ctx, min(part.Timeout, 10*time.Second))
	defer cancel()
	source, err := part.Open(ctx)
	if err != nil {
		return sensor.Sample{}, err
	}
	defer source.Close() //nolint:errcheck // it was only read
	return source.Read(ctx)
}

// canListen tries an address for a moment.
func canListen(address string) error {
	l, err := net.Listen("tcp", address)
	if err != nil {
		return err
	}
	return l.Close()
}

// remedyText wraps a remedy, but not one with a command in it: that is to be copied.
func remedyText(remedy string) string {
	if strings.Contains(remedy, "sudo ") {
		return remedy
	}
	return wrapAfter(remedy, 62, strings.Repeat(" ", 27))
}

// reportText is the report for a person: what is ill with its remedy, and of the
// rest which areas are well.
func reportText(r doctor.Report, all bool) string {
	var b strings.Builder
	var well []string
	ill := map[string]bool{}
	count := map[doctor.State]int{}
	for _, f := range r.Findings {
		count[f.State]++
		ill[f.Area] = ill[f.Area] || f.State != doctor.OK
	}
	for _, f := range r.Findings {
		if f.State == doctor.OK && !all {
			if !ill[f.Area] && (len(well) == 0 || well[len(well)-1] != f.Area) {
				well = append(well, f.Area)
			}
			continue
		}
		fmt.Fprintf(&b, "%-9s  %-12s  %s\n", f.State, f.Area, wrapAfter(f.What, 64, strings.Repeat(" ", 25)))
		if f.Remedy != "" {
			fmt.Fprintf(&b, "%25s> %s\n", "", remedyText(f.Remedy))
		}
	}
	if len(well) > 0 {
		fmt.Fprintf(&b, "%-9s  %s\n", doctor.OK, wrapAfter(strings.Join(well, ", "), 76, strings.Repeat(" ", 11)))
	}
	fmt.Fprintf(&b, "\n%d wrong, %d want attention, %d ok; judged for the user %s.\n",
		count[doctor.Wrong], count[doctor.Attention], count[doctor.OK], r.User)
	return b.String()
}
