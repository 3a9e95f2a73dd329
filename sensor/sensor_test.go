package sensor

import (
	"math"
	"testing"
	"time"
)

var noon = time.Date(2026, 10, 17, 12, 0, 0, 0, time.UTC)

func TestMergeLaysKnownOverUnknown(t *testing.T) {
	bag := Blank(noon)
	bag.Bag, bag.Quality = 16000, Saturated
	room := Blank(noon.Add(time.Second))
	room.Ambient, room.Air, room.Quality = 100500, 12, AirSilent
	got := bag.Merge(room)
	if got.Bag != 16000 || got.Ambient != 100500 || got.Air != 12 || got.Knows(GlueLine) {
		t.Errorf("got %+v", got)
	}
	if got.Quality != Saturated|AirSilent || !got.Time.Equal(noon) {
		t.Errorf("got %+v", got)
	}
	if got.Vacuum() != 84500 {
		t.Errorf("vacuum %v", got.Vacuum())
	}
}

// A gauge part at 1500 m (84556 Pa, U.S. Standard Atmosphere 1976) that reads
// 70 kPa of vacuum has 14556 Pa in the bag, not 31325.
func TestGaugePartInItsRoom(t *testing.T) {
	s := FromVacuum(noon, 70000)
	if s.Bag != 31325 || s.GaugeVacuum() != 70000 || s.Knows(Ambient) {
		t.Errorf("before the room is known: %+v", s)
	}
	s = s.In(84556)
	if s.Bag != 14556 || s.Vacuum() != 70000 || s.GaugeVacuum() != 70000 {
		t.Errorf("in its room: %+v", s)
	}
	if again := s.In(84000); again.Bag != 14000 || again.Vacuum() != 70000 {
		t.Errorf("in another: %+v", again)
	}
	absolute := Blank(noon)
	absolute.Bag = 14556
	if absolute = absolute.In(84556); absolute.Bag != 14556 || !math.IsNaN(absolute.GaugeVacuum()) {
		t.Errorf("absolute part: %+v", absolute)
	}
}

func TestQuantities(t *testing.T) {
	var silence Quality
	for i, q := range Quantities() {
		s := q.With(Blank(noon), float64(i))
		if q.Of(s) != float64(i) || !s.Knows(q) {
			t.Errorf("%s: got %+v", q, s)
		}
		for _, other := range Quantities() {
			if other != q && s.Knows(other) {
				t.Errorf("setting %s set %s", q, other)
			}
		}
		if silence.Has(q.Silent()) {
			t.Errorf("%s shares its silence with another", q)
		}
		silence |= q.Silent()
	}
	odd := Quantity("light")
	if odd.Silent() != 0 || !math.IsNaN(odd.Of(Blank(noon))) || odd.With(Blank(noon), 5).Knows(Bag) {
		t.Error("an unknown quantity did something")
	}
}
