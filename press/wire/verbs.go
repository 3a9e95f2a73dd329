package wire

import (
	"context"
	"encoding/json"
	"fmt"

	"github.com/nats-io/nats.go"

	"github.com/nightclamp/nightclamp/press"
)

// Status is what is known about the named press, or about every press.
func (c *Client) Status(ctx context.Context, pressName string) (st []press.Status, err error) {
	err = c.ask(ctx, "status", pressOrder{pressName}, &st)
	return st, err
}

// Start begins a run.
func (c *Client) Start(ctx context.Context, order press.StartOrder) (st press.Status, err error) {
	err = c.ask(ctx, "start", order, &st)
	return st, err
}

// Release ends the run.
func (c *Client) Release(ctx context.Context, order press.MarkOrder) (st press.Status, err error) {
	err = c.ask(ctx, "release", order, &st)
	return st, err
}

// TopUp marks that the vacuum was pumped up by hand.
func (c *Client) TopUp(ctx context.Context, order press.MarkOrder) (st press.Status, err error) {
	err = c.ask(ctx, "topup", order, &st)
	return st, err
}

// DropTest begins a drop test, or ends it.
func (c *Client) DropTest(ctx context.Context, order press.DropTestOrder) (st press.Status, err error) {
	err = c.ask(ctx, "drop-test", order, &st)
	return st, err
}

// Weather tells what the coming 24 hours bring, or takes it back.
func (c *Client) Weather(ctx context.Context, order press.WeatherOrder) (st press.Status, err error) {
	err = c.ask(ctx, "weather", order, &st)
	return st, err
}

// Note writes a line into the record.
func (c *Client) Note(ctx context.Context, order press.MarkOrder) (st press.Status, err error) {
	err = c.ask(ctx, "note", order, &st)
	return st, err
}

// SetGlue sets or corrects the adhesive of the run.
func (c *Client) SetGlue(ctx context.Context, order press.GlueOrder) (st press.Status, err error) {
	err = c.ask(ctx, "glue", order, &st)
	return st, err
}

// Alerts lists what is wrong now on the named press, or on every press.
func (c *Client) Alerts(ctx context.Context, pressName string) (list []press.Alert, err error) {
	err = c.ask(ctx, "alerts", pressOrder{pressName}, &list)
	return list, err
}

// Acknowledge says that somebody looks after an alert, and returns those that
// the order was about.
func (c *Client) Acknowledge(ctx context.Context, order press.AckOrder) (list []press.Alert, err error) {
	err = c.ask(ctx, "ack", order, &list)
	return list, err
}

// Sensors is how the parts of the named press are doing, or of every press.
func (c *Client) Sensors(ctx context.Context, pressName string) (list []PressSensors, err error) {
	err = c.ask(ctx, "sensors", pressOrder{pressName}, &list)
	return list, err
}

// Course is how the vacuum of the run on a press has gone so far.
func (c *Client) Course(ctx context.Context, order press.CourseOrder) (course press.Course, err error) {
	err = c.ask(ctx, "course", order, &course)
	return course, err
}

// Ways is how the ways out for alerts are doing.
func (c *Client) Ways(ctx context.Context) (list []press.WayHealth, err error) {
	err = c.ask(ctx, "ways", struct{}{}, &list)
	return list, err
}

// TestWays sends a test message through every way out for alerts and says what
// each answered.
func (c *Client) TestWays(ctx context.Context) (list []press.Tried, err error) {
	err = c.ask(ctx, "test-alert", struct{}{}, &list)
	return list, err
}

// Version asks the daemon for its version.
func (c *Client) Version(ctx context.Context) (v Version, err error) {
	err = c.ask(ctx, "version", struct{}{}, &v)
	return v, err
}

// Watch calls show with the status of the named press (of every press when it
// is empty) as the daemon publishes it, until ctx ends or show returns an error.
func (c *Client) Watch(ctx context.Context, pressName string, show func(press.Status) error) error {
	if pressName == "" {
		pressName = "*"
	} else if err := ValidToken(pressName); err != nil {
		return fmt.Errorf("press: %w", err)
	}
	return watch(ctx, c, StatusSubject(c.site, pressName), show)
}

// WatchEvents calls show with every event of the named press (of every press
// when it is empty), until ctx ends or show returns an error.
func (c *Client) WatchEvents(ctx context.Context, pressName string, show func(press.Event) error) error {
	if pressName == "" {
		pressName = "*"
	} else if err := ValidToken(pressName); err != nil {
		return fmt.Errorf("press: %w", err)
	}
	return watch(ctx, c, EventSubject(c.site, pressName, "*"), show)
}

func watch[T any](ctx context.Context, c *Client, subject string, show func(T) error) error {
	msgs := make(chan *nats.Msg, 64)
	sub, err := c.nc.ChanSubscribe(subject, msgs)
	if err != nil {
		return fmt.Errorf("nats: watch %s: %w", subject, err)
	}
	defer sub.Unsubscribe() //nolint:errcheck // the connection's end ends it too
	closed := c.nc.StatusChanged(nats.CLOSED)
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-closed:
			return fmt.Errorf("nats: the connection to %s was lost while watching", c.url)
		case msg := <-msgs:
			var v T
			if err := json.Unmarshal(msg.Data, &v); err != nil {
				return fmt.Errorf("nats: message on %s cannot be read; is the daemon of another version? %w", msg.Subject, err)
			}
			if err := show(v); err != nil {
				return err
			}
		}
	}
}
