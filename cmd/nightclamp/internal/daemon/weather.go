package daemon

import (
	"context"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// Weather tells what the coming 24 hours bring where a press stands, or takes it back.
func (d *Daemon) Weather(ctx context.Context, o press.WeatherOrder) (press.Status, error) {
	s, err := d.station(o.Press)
	if err != nil {
		return press.Status{}, err
	}
	return s.TellWeather(ctx, o)
}

// TellWeather takes the order, with a run on the press or without: what was told in the
// evening holds for the run that begins afterwards.
func (s *Station) TellWeather(ctx context.Context, o press.WeatherOrder) (press.Status, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	w, err := o.Weather(s.now(), s.cfg.Display)
	switch {
	case err != nil:
		return press.Status{}, err
	case o.Forget && !s.weather.Told():
		return press.Status{}, press.Errorf(press.NotFound, "no weather was told for press %s", s.cfg.Press)
	case w.Told() && len(s.cfg.Shop.Heating) > 0:
		return press.Status{}, press.Errorf(press.WrongStage,
			"the heater's schedule in the config says how warm the shop gets; without shop.heating the weather does")
	}
	s.settle(ctx, s.setWeather(w, press.WeatherRevoked))
	s.show(s.now())
	return s.newest, nil
}

// setWeather gives w to the run, and returns the events that this makes; without a run
// it is written down for the press.
func (s *Station) setWeather(w press.Weather, why string) []press.Event {
	s.weather = w
	if s.run.ID() != "" && !s.run.Closed() {
		return s.run.Weather(w, why)
	}
	e := w.Event(why)
	e.Time, e.Site, e.Press = s.now(), s.cfg.Site, s.cfg.Press
	return []press.Event{e}
}

// followWeather forgets what was told a day ago, and tells a run that has just begun
// what is known.
func (s *Station) followWeather(at time.Time) []press.Event {
	if s.weather.Told() && !at.Before(s.weather.Until) {
		return s.setWeather(press.Weather{}, press.WeatherOver)
	}
	return s.run.Weather(s.weather, press.WeatherOver)
}

// restoreWeather takes up what was told before the restart.
func (s *Station) restoreWeather(ctx context.Context) error {
	e, found, err := s.shared.store.LastEvent(ctx, s.cfg.Press, press.WeatherTold, press.WeatherForgotten)
	if err != nil || !found || e.Kind == press.WeatherForgotten {
		return err
	}
	s.weather = press.Weather{LowC: e.LowC, HighC: e.HighC, Until: e.Until}
	return nil
}
