package sim

import (
	"testing"
	"time"
)

// The demo's night must stay the night that its description tells.
func TestBoatShedNight(t *testing.T) {
	b := New(BoatShed())
	begin := BoatShedBegins(time.UTC)
	vacuum := func(at time.Duration) float64 {
		b.Step(begin.Add(at))
		s := b.State()
		return s.AmbientPa - s.BagPa
	}
	b.Step(begin)
	if v := vacuum(8 * time.Minute); v > 1e-6 {
		t.Errorf("vacuum %v Pa during the layup", v)
	}
	pumped := vacuum(19 * time.Minute)
	settled := vacuum(5 * time.Hour)
	beforeLeak := vacuum(5*time.Hour + 20*time.Minute)
	beforeTopUp := vacuum(6*time.Hour + 30*time.Minute)
	toppedUp := vacuum(6*time.Hour + 40*time.Minute)
	morning := vacuum(15 * time.Hour)
	end := vacuum(29 * time.Hour)
	open := vacuum(29*time.Hour + time.Minute)
	t.Logf("pumped %.0f settled %.0f leak %.0f top-up %.0f to %.0f morning %.0f end %.0f open %.0f Pa",
		pumped, settled, beforeLeak, beforeTopUp, toppedUp, morning, end, open)
	if pumped < 84000 || pumped > 87000 {
		t.Errorf("pulled down to %v Pa", pumped)
	}
	if rise := pumped - settled; rise < 1000 || rise > 4500 {
		t.Errorf("settling took %v Pa", rise)
	}
	if fall := beforeLeak - beforeTopUp; fall < 2000 || fall > 3000 {
		t.Errorf("the open seam took %v Pa in 70 minutes at 2 kPa/h", fall)
	}
	if toppedUp < 84000 || end < 75000 || end > toppedUp {
		t.Errorf("topped up to %v Pa, %v Pa at the end", toppedUp, end)
	}
	if open > 100 {
		t.Errorf("vacuum %v Pa a minute after the bag was opened", open)
	}
}

func TestBoatShedStaysWarmEnough(t *testing.T) {
	b := New(BoatShed())
	begin := BoatShedBegins(time.UTC)
	low, high := 99.0, -99.0
	for at := time.Duration(0); at < BoatShedLength; at += time.Minute {
		b.Step(begin.Add(at))
		low, high = min(low, b.State().GluelineC), max(high, b.State().GluelineC)
	}
	t.Logf("glue line from %.1f to %.1f °C", low, high)
	if low < 12 || high > 19 {
		t.Errorf("glue line from %v to %v °C, want 12 to 19", low, high)
	}
}
