package main

import (
	"strings"
	"testing"
)

// The weather is told to the running daemon, shown by status, and taken back.
func TestWeatherCommand(t *testing.T) {
	s := newShed(t, "")
	s.serve(t)
	if r := s.run(t, "weather"); r.code != exitUsage || !strings.Contains(r.err, "--low") {
		t.Errorf("nothing told: %d %s", r.code, r.err)
	}
	if r := s.run(t, "weather", "--low", "8C", "--high", "-2C"); r.code != exitFault || !strings.Contains(r.err, "exchange") {
		t.Errorf("exchanged: %d %s", r.code, r.err)
	}
	if r := s.run(t, "weather", "--low", "-2C", "--high", "45F"); r.code != 0 || !strings.Contains(r.out, "Taken: low -2.0 °C, high 7.2 °C, good until") {
		t.Fatalf("told: %d %s", r.code, r.err)
	}
	if r := s.run(t, "status"); !strings.Contains(r.out, "low -2.0 °C, high 7.2 °C, as told, good until") {
		t.Errorf("status: %s", r.out)
	}
	if r := s.run(t, "weather", "--forget"); r.code != 0 || !strings.Contains(r.out, "Forgotten") {
		t.Errorf("forget: %d %s", r.code, r.err)
	}
	if r := s.run(t, "status"); strings.Contains(r.out, "as told") {
		t.Errorf("status: %s", r.out)
	}
	if r := s.run(t, "weather", "--forget"); r.code != exitFault || !strings.Contains(r.err, "no weather was told") {
		t.Errorf("forget again: %d %s", r.code, r.err)
	}
}
