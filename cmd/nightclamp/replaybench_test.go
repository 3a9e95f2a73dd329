package main

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
	"github.com/nightclamp/nightclamp/sensor/sim"
)

// BenchmarkReplayNight replays twelve hours at 10 Hz. To hold against: what mawk takes
// to add up a column of the same file, whose path NIGHTCLAMP_KEEP keeps.
func BenchmarkReplayNight(b *testing.B) {
	path := os.Getenv("NIGHTCLAMP_KEEP")
	if path == "" {
		path = filepath.Join(b.TempDir(), "night.csv")
	}
	if err := writeNight(path); err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		a := &app{streams: streams{out: io.Discard, err: io.Discard}}
		if err := a.replay(replayFlags{glue: "pva-d3", floor: units.Pressure(press.DefaultFloor)}, path); err != nil {
			b.Fatal(err)
		}
	}
}

// writeNight writes the first twelve hours of the demo's night, ten rows a second.
func writeNight(path string) error {
	cfg := sim.BoatShed()
	cfg.Start = sim.BoatShedBegins(time.UTC)
	bag := sim.New(cfg)
	file, err := os.Create(path)
	if err != nil {
		return err
	}
	w := bufio.NewWriter(file)
	fmt.Fprintln(w, "time,bag_pa,ambient_pa,glueline_c,air_c")
	for i := range 12 * 3600 * 10 {
		s := bag.Step(cfg.Start.Add(time.Duration(i) * 100 * time.Millisecond))
		fmt.Fprintf(w, "%.1f,%.0f,%.1f,%.4f,%.4f\n", float64(i)/10, s.Bag, s.Ambient, s.GlueLine, s.Air)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	return file.Close()
}
