package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"

	"github.com/nightclamp/nightclamp/press"
)

// Controller carries out what a person asks for on the page. Its errors carry
// the code of a [press.Error] and say what to do.
type Controller interface {
	Start(ctx context.Context, order press.StartOrder) (press.Status, error)
	Release(ctx context.Context, order press.MarkOrder) (press.Status, error)
	TopUp(ctx context.Context, order press.MarkOrder) (press.Status, error)
	Note(ctx context.Context, order press.MarkOrder) (press.Status, error)
	DropTest(ctx context.Context, order press.DropTestOrder) (press.Status, error)
	Weather(ctx context.Context, order press.WeatherOrder) (press.Status, error)
	SetGlue(ctx context.Context, order press.GlueOrder) (press.Status, error)
	Acknowledge(ctx context.Context, order press.AckOrder) ([]press.Alert, error)
}

// maxOrder is the largest body that is read, bytes: a datasheet of the
// builder's own goes with a start.
const maxOrder = 32 << 10

// orders is what changes something. Each is a POST of one JSON object to
// /api/v1/presses/{press}/…; the press in the path is the one that is meant.
func (s *server) orders() []route {
	const under = "POST /api/v1/presses/{press}/"
	c := s.Control
	return []route{
		{under + "start", order(s, func(ctx context.Context, _, name string, o press.StartOrder) (any, error) {
			o.Press = name
			return s.view(c.Start(ctx, o))
		})},
		{under + "release", s.mark(c.Release)},
		{under + "top-up", s.mark(c.TopUp)},
		{under + "note", s.mark(c.Note)},
		{under + "drop-test", order(s, func(ctx context.Context, _, name string, o press.DropTestOrder) (any, error) {
			o.Press = name
			return s.view(c.DropTest(ctx, o))
		})},
		{under + "weather", order(s, func(ctx context.Context, _, name string, o press.WeatherOrder) (any, error) {
			o.Press = name
			return s.view(c.Weather(ctx, o))
		})},
		{under + "glue", order(s, func(ctx context.Context, _, name string, o press.GlueOrder) (any, error) {
			o.Press = name
			return s.view(c.SetGlue(ctx, o))
		})},
		{under + "acknowledge", order(s, func(ctx context.Context, who, name string, o press.AckOrder) (any, error) {
			o.Press = name
			if o.By == "" {
				o.By = who
			}
			return c.Acknowledge(ctx, o)
		})},
	}
}

func (s *server) mark(do func(context.Context, press.MarkOrder) (press.Status, error)) http.HandlerFunc {
	return order(s, func(ctx context.Context, _, name string, o press.MarkOrder) (any, error) {
		o.Press = name
		return s.view(do(ctx, o))
	})
}

// view shows the status that an order left behind.
func (s *server) view(st press.Status, err error) (any, error) {
	if err != nil {
		return nil, err
	}
	return s.viewOf(st, s.Now()), nil
}

// order makes a handler of a function that takes an order of its own type.
func order[Order any](s *server, do func(ctx context.Context, who, press string, o Order) (any, error)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		var o Order
		switch asked := any(&o).(type) {
		case *press.StartOrder:
			asked.FloorPa = press.Unknown() // a floor that is not named is not a floor of 0
		case *press.DropTestOrder:
			asked.HoldS, asked.FloorPa, asked.WithinS = press.Unknown(), press.Unknown(), press.Unknown()
		case *press.WeatherOrder:
			asked.LowC, asked.HighC = press.Unknown(), press.Unknown()
		}
		if err := decode(w, r, &o); err != nil {
			s.fail(w, r, http.StatusBadRequest, err.Error())
			return
		}
		name, who := r.PathValue("press"), visitorOf(r.Context()).name
		result, err := do(r.Context(), who, name, o)
		if err != nil {
			s.fail(w, r, press.Code(err), err.Error())
			return
		}
		s.Log.Info("order from the page carried out", "path", r.URL.Path, "by", who, "from", r.RemoteAddr)
		s.send(w, r, result)
	}
}

// decode reads one strict JSON object. An empty body is an order with nothing
// in it.
func decode(w http.ResponseWriter, r *http.Request, into any) error {
	dec := json.NewDecoder(http.MaxBytesReader(w, r.Body, maxOrder))
	dec.DisallowUnknownFields()
	if err := dec.Decode(into); err != nil {
		if errors.Is(err, io.EOF) {
			return nil
		}
		return fmt.Errorf("read the order: %w; send one JSON object as the API's description has it", err)
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return errors.New("something follows the order; send one JSON object")
	}
	return nil
}
