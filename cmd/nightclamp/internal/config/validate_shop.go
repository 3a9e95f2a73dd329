package config

import (
	"fmt"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/cure"
	"github.com/nightclamp/nightclamp/press/units"
)

// What a shop can have, °C; what lies outside is a slip of the unit.
const (
	coldestShop units.Temperature = -40
	warmestShop units.Temperature = 50
)

func (f *faults) shop(s Shop) {
	f.shopTemperature("shop.night_low", s.NightLow)
	f.shopTemperature("shop.day_high", s.DayHigh)
	if s.NightLow != nil && s.DayHigh != nil && *s.NightLow > *s.DayHigh {
		f.at("shop.night_low", "shop.night_low %s is warmer than shop.day_high %s; exchange them", *s.NightLow, *s.DayHigh)
	}
	f.between("shop.heating_lag", s.HeatingLag, time.Minute, 48*time.Hour)
	last := -1.0
	for _, line := range s.Heating {
		set, err := parseSetting(line)
		switch {
		case err != nil:
			f.at("shop.heating", "shop.heating %q cannot be read: %v; write each setting as a time of day and a temperature, such as \"07:00 18C\"", line, err)
		case set.At <= last:
			f.at("shop.heating", "shop.heating %q is not later in the day than the setting before it; write them in the order of the day", line)
		default:
			f.shopTemperature("shop.heating", new(units.Temperature(set.C)))
			last = set.At
		}
	}
}

func (f *faults) shopTemperature(path string, t *units.Temperature) {
	if t != nil && (*t < coldestShop || *t > warmestShop) {
		f.at(path, "%s %s: no shop is so; use %s to %s", path, *t, coldestShop, warmestShop)
	}
}

// parseSetting reads "07:00 18C".
func parseSetting(text string) (cure.Setting, error) {
	clock, warmth, _ := strings.Cut(strings.TrimSpace(text), " ")
	at, err := time.Parse("15:04", clock)
	if err != nil {
		return cure.Setting{}, fmt.Errorf("%q is no time of day", clock)
	}
	c, err := units.ParseTemperature(warmth)
	if err != nil {
		return cure.Setting{}, err
	}
	return cure.Setting{At: float64(3600*at.Hour() + 60*at.Minute()), C: c.C()}, nil
}

// ShopKnown is what the forecast of the shop is told.
func (c *Config) ShopKnown() cure.ShopConfig {
	known := cure.ShopConfig{HeatingLag: c.Shop.HeatingLag.Std().Seconds()}
	if t := c.Shop.NightLow; t != nil {
		known.NightLow, known.HasNightLow = t.C(), true
	}
	if t := c.Shop.DayHigh; t != nil {
		known.DayHigh, known.HasDayHigh = t.C(), true
	}
	for _, line := range c.Shop.Heating {
		if set, err := parseSetting(line); err == nil { // Load has refused any other
			known.Heating = append(known.Heating, set)
		}
	}
	return known
}
