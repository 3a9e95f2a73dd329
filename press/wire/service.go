package wire

import (
	"context"
	"errors"
	"fmt"
	"runtime/debug"
	"strconv"
	"strings"
	"time"

	"github.com/nats-io/nats.go/micro"

	"github.com/nightclamp/nightclamp/press"
)

// Controller carries orders out. The name of a press may be empty where there
// is only one; in Status and Alerts it then means every press. Errors are told
// to the caller with the code of [press.Error].
type Controller interface {
	Status(ctx context.Context, pressName string) ([]press.Status, error)
	Start(ctx context.Context, order press.StartOrder) (press.Status, error)
	Release(ctx context.Context, order press.MarkOrder) (press.Status, error)
	TopUp(ctx context.Context, order press.MarkOrder) (press.Status, error)
	Note(ctx context.Context, order press.MarkOrder) (press.Status, error)
	DropTest(ctx context.Context, order press.DropTestOrder) (press.Status, error)
	Weather(ctx context.Context, order press.WeatherOrder) (press.Status, error)
	SetGlue(ctx context.Context, order press.GlueOrder) (press.Status, error)
	Alerts(ctx context.Context, pressName string) ([]press.Alert, error)
	Acknowledge(ctx context.Context, order press.AckOrder) ([]press.Alert, error)
}

// WayTester is a [Controller] that can also try the ways out for alerts.
type WayTester interface {
	TestWays(ctx context.Context) ([]press.Tried, error)
	Ways(ctx context.Context) ([]press.WayHealth, error)
}

// Historian is a [Controller] that can also tell how a run has gone so far.
type Historian interface {
	Course(ctx context.Context, order press.CourseOrder) (press.Course, error)
}

// PressSensors is the answer to the verb sensors, one for each press.
type PressSensors struct {
	Press   string               `json:"press"`
	Sensors []press.SensorStatus `json:"sensors"`
}

// Version is the answer to the verb version.
type Version struct {
	Schema  int    `json:"schema"`
	Version string `json:"version"`
	Site    string `json:"site"`
	URL     string `json:"url"`
}

// patience is how long an order may take.
const patience = 30 * time.Second

type verb struct {
	name, about string
	answer      func(ctx context.Context, data []byte) (any, error)
}

// Serve offers the controller as the micro service "nightclamp" until the link
// is closed. It works while the server cannot be reached: the service appears
// when the link comes up.
func (l *Link) Serve(c Controller) error {
	svc, err := micro.AddService(l.nc, micro.Config{
		Name:        service,
		Version:     semver(l.cfg.Version),
		Description: "Watches vacuum presses: will the bag hold until the glue has cured?",
		Metadata:    map[string]string{"site": l.cfg.site(), "version": l.cfg.Version},
		ErrorHandler: func(_ micro.Service, err *micro.NATSError) {
			l.log.Error("nats service error", "subject", err.Subject, "err", err.Description)
		},
	})
	if err != nil {
		return fmt.Errorf("nats: add service: %w", err)
	}
	group := svc.AddGroup(orders + "." + l.cfg.site())
	for _, v := range l.verbs(c) {
		err := group.AddEndpoint(v.name, l.handler(v), micro.WithEndpointMetadata(map[string]string{"about": v.about}))
		if err != nil {
			return errors.Join(fmt.Errorf("nats: add endpoint %s: %w", v.name, err), svc.Stop())
		}
	}
	if l.up.Load() { // whoever is told that the daemon runs finds the service there
		if err := l.nc.FlushTimeout(time.Second); err != nil {
			l.log.Warn("nats: the service is late", "err", err)
		}
	}
	l.mu.Lock()
	l.closers = append(l.closers, func() {
		if err := svc.Stop(); err != nil && l.up.Load() {
			l.log.Warn("nats service did not stop well", "err", err)
		}
	})
	l.mu.Unlock()
	return nil
}

// verbs is the table of everything that can be asked for.
func (l *Link) verbs(c Controller) []verb {
	list := []verb{
		on("status", "what is known about one press, or about all", func(ctx context.Context, o pressOrder) (any, error) {
			return c.Status(ctx, o.Press)
		}),
		on("start", "a run begins: glue is being spread", func(ctx context.Context, o press.StartOrder) (any, error) {
			return c.Start(ctx, o)
		}),
		on("release", "the bag is opened, the run is over", func(ctx context.Context, o press.MarkOrder) (any, error) {
			return c.Release(ctx, o)
		}),
		on("topup", "the vacuum was pumped up by hand", func(ctx context.Context, o press.MarkOrder) (any, error) {
			return c.TopUp(ctx, o)
		}),
		on("drop-test", "measure, the pump off, whether the bag holds as long as it must", func(ctx context.Context, o press.DropTestOrder) (any, error) {
			return c.DropTest(ctx, o)
		}),
		on("weather", "how cold and how warm the coming 24 hours get where the press stands", func(ctx context.Context, o press.WeatherOrder) (any, error) {
			return c.Weather(ctx, o)
		}),
		on("note", "write a line into the record", func(ctx context.Context, o press.MarkOrder) (any, error) {
			return c.Note(ctx, o)
		}),
		on("glue", "set or correct the adhesive of the run", func(ctx context.Context, o press.GlueOrder) (any, error) {
			return c.SetGlue(ctx, o)
		}),
		on("alerts", "what is wrong now", func(ctx context.Context, o pressOrder) (any, error) {
			return c.Alerts(ctx, o.Press)
		}),
		on("ack", "somebody looks after an alert", func(ctx context.Context, o press.AckOrder) (any, error) {
			return c.Acknowledge(ctx, o)
		}),
		on("sensors", "how the parts are doing", func(ctx context.Context, o pressOrder) (any, error) {
			return sensors(ctx, c, o.Press)
		}),
		on("version", "who answers", func(context.Context, struct{}) (any, error) {
			return Version{press.Schema, l.cfg.Version, l.cfg.site(), l.URL()}, nil
		}),
	}
	if h, can := c.(Historian); can {
		list = append(list, on("course", "how the vacuum of the run has gone so far", func(ctx context.Context, o press.CourseOrder) (any, error) {
			return h.Course(ctx, o)
		}))
	}
	if w, can := c.(WayTester); can {
		list = append(list,
			on("ways", "how the ways out for alerts are doing", func(ctx context.Context, _ struct{}) (any, error) { return w.Ways(ctx) }),
			on("test-alert", "a test message through every way out", func(ctx context.Context, _ struct{}) (any, error) { return w.TestWays(ctx) }),
		)
	}
	return list
}

// on makes a verb of a function that takes an order of its own type.
func on[Order any](name, about string, do func(context.Context, Order) (any, error)) verb {
	return verb{name, about, func(ctx context.Context, data []byte) (any, error) {
		var order Order
		switch o := any(&order).(type) {
		case *press.StartOrder:
			o.FloorPa = press.Unknown() // a floor that is not named is not a floor of 0
		case *press.DropTestOrder:
			o.HoldS, o.FloorPa, o.WithinS = press.Unknown(), press.Unknown(), press.Unknown()
		case *press.WeatherOrder:
			o.LowC, o.HighC = press.Unknown(), press.Unknown()
		}
		if err := decode(name, data, &order); err != nil {
			return nil, err
		}
		if err := pressToken(name, pressOf(order)); err != nil {
			return nil, err
		}
		return do(ctx, order)
	}}
}

func pressOf(order any) string {
	switch o := order.(type) {
	case pressOrder:
		return o.Press
	case press.StartOrder:
		return o.Press
	case press.CourseOrder:
		return o.Press
	case press.MarkOrder:
		return o.Press
	case press.GlueOrder:
		return o.Press
	case press.DropTestOrder:
		return o.Press
	case press.WeatherOrder:
		return o.Press
	case press.AckOrder:
		return o.Press
	}
	return ""
}

func sensors(ctx context.Context, c Controller, pressName string) ([]PressSensors, error) {
	status, err := c.Status(ctx, pressName)
	if err != nil {
		return nil, err
	}
	list := make([]PressSensors, len(status))
	for i, st := range status {
		list[i] = PressSensors{st.Press, st.Sensors}
	}
	return list, nil
}

func (l *Link) handler(v verb) micro.Handler {
	return micro.HandlerFunc(func(req micro.Request) {
		ctx, cancel := context.WithTimeout(context.Background(), patience)
		defer cancel()
		answer, err := l.carryOut(ctx, v, req.Data())
		if err == nil {
			err = req.RespondJSON(answer)
		} else {
			err = req.Error(strconv.Itoa(press.Code(err)), header(err.Error()), nil)
		}
		if err != nil {
			l.log.Warn("nats: no answer could be sent", "verb", v.name, "err", err)
		}
	})
}

// carryOut keeps a fault in carrying out one order from ending the watch over
// every press.
func (l *Link) carryOut(ctx context.Context, v verb, data []byte) (answer any, err error) {
	defer func() {
		if fault := recover(); fault != nil {
			l.log.Error("order failed", "verb", v.name, "fault", fault, "stack", string(debug.Stack()))
			err = press.Errorf(press.Failed, "%s: a fault in nightclamp; its log has the details: %v", v.name, fault)
		}
	}()
	return v.answer(ctx, data)
}

// header makes text fit for a NATS header, which ends at a line's end.
func header(s string) string {
	return strings.Join(strings.FieldsFunc(s, func(r rune) bool { return r == '\n' || r == '\r' }), " ")
}

// semver is v where it is a semantic version, as a micro service must have one.
func semver(v string) string {
	v = strings.TrimPrefix(v, "v")
	if semverPattern.MatchString(v) {
		return v
	}
	return "0.0.0"
}
