package doctor

import (
	"context"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/alert"
	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/wire"
	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/calibration"
)

// State is how a thing is.
type State string

// The states, from well to ill.
const (
	OK        State = "ok"
	Attention State = "attention"
	Wrong     State = "wrong"
)

// Finding is what a check found, in one line each.
type Finding struct {
	Area   string `json:"area"` // permissions, buses, sensors, clock, disk …
	State  State  `json:"state"`
	What   string `json:"what"`
	Remedy string `json:"remedy,omitempty"` // what to do; empty when all is well
}

// Report is all that was found.
type Report struct {
	State    State     `json:"state"` // the worst
	User     string    `json:"user"`  // whose permissions were looked at
	Config   string    `json:"config"`
	Findings []Finding `json:"findings"`
}

// Daemon is a running daemon that was reached.
type Daemon interface {
	Version(ctx context.Context) (wire.Version, error)
	Status(ctx context.Context, pressName string) ([]press.Status, error)
	Ways(ctx context.Context) ([]press.WayHealth, error)
	TestWays(ctx context.Context) ([]press.Tried, error)
	Close()
}

// Machine is what is looked at, and how.
type Machine struct {
	Root string // the file tree; empty: /
	User string // whose permissions count; empty: the daemon's user when root asks, else the one who asks
	Send bool   // also send a test through the ways out

	Now      func() time.Time
	ClockSet func() bool                                                 // see [alert.ClockSet]
	Space    func(path string) (free, size uint64, err error)            // see [alert.DiskSpace]
	Read     func(context.Context, config.Sensor) (sensor.Sample, error) // one reading of a sensor
	Dial     func(ctx context.Context, network, address string) (net.Conn, error)
	Listen   func(address string) error // whether one could listen there
	Reach    func(context.Context) (Daemon, error)
	Ways     func([]alert.Way) (alert.Ways, error) // opens the ways out, and sends nothing
	Version  string                                // of this program
}

// examination is one look at a machine.
type examination struct {
	Machine
	cfg    *config.Config
	who    who
	daemon Daemon // nil: none answers
	away   error  // why none does
	book   calibration.Book
	report Report
}

// Examine makes every check. cfg is the config in force; broken is why it could
// not be read, with cfg the defaults then.
func (m Machine) Examine(ctx context.Context, cfg *config.Config, broken error) Report {
	if m.Root == "" {
		m.Root = "/"
	}
	e := &examination{Machine: m, cfg: cfg}
	e.who = e.whose()
	e.report = Report{State: OK, User: e.who.name, Config: cfg.Path, Findings: []Finding{}}
	if e.daemon, e.away = m.Reach(ctx); e.daemon != nil {
		defer e.daemon.Close()
	}
	e.config(broken)
	e.permissions()
	e.buses()
	e.sensors(ctx)
	e.clock()
	e.disk()
	e.record(ctx)
	e.power()
	e.network(ctx)
	e.notification(ctx)
	e.datasheets()
	e.life(ctx)
	return e.report
}

func (e *examination) add(area string, state State, what, remedy string) {
	f := Finding{Area: area, State: state, What: oneLine(what), Remedy: oneLine(remedy)}
	e.report.Findings = append(e.report.Findings, f)
	if worse(state, e.report.State) {
		e.report.State = state
	}
}

func (e *examination) ok(area, format string, args ...any) {
	e.add(area, OK, fmt.Sprintf(format, args...), "")
}

func worse(a, b State) bool { return a != b && (a == Wrong || b == OK) }

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

// path is a place below the root.
func (e *examination) path(below string) string { return filepath.Join(e.Root, below) }

// glob lists what matches below the root, without the root.
func (e *examination) glob(pattern string) []string {
	list, err := filepath.Glob(e.path(pattern))
	if err != nil { // only for a bad pattern, and these are not
		return nil
	}
	for i := range list {
		list[i] = e.shown(list[i])
	}
	return list
}

// shown is a path as the machine itself knows it.
func (e *examination) shown(path string) string {
	return "/" + strings.TrimPrefix(strings.TrimPrefix(path, filepath.Clean(e.Root)), "/")
}

// word is a file's text without its line end; empty when it cannot be read.
func (e *examination) word(below string) string {
	text, err := os.ReadFile(e.path(below))
	if err != nil {
		return ""
	}
	return strings.TrimSpace(string(text))
}

func (e *examination) exists(below string) bool {
	_, err := os.Stat(e.path(below))
	return err == nil
}
