package main

import (
	"strings"
	"testing"
)

// The demo's alerts are part of its story, once each; other warnings are its log.
func TestStoryLog(t *testing.T) {
	var out, errs strings.Builder
	log := newStoryLog(&app{streams: streams{strings.NewReader(""), &out, &errs}})
	for range 3 {
		log.Warn("alert", "severity", "wake", "title", "sled: the bag will not hold", "text", "Top up before 09:57.", "id", "sled/margin_gone/1")
	}
	log.Warn("disk is full")
	log.Info("nobody asked")
	if got, want := out.String(), "       Alert (wake), sled: the bag will not hold: Top up before 09:57.\n"; got != want {
		t.Errorf("the story has %q, want %q", got, want)
	}
	if strings.Contains(errs.String(), "alert") || !strings.Contains(errs.String(), "disk is full") || strings.Contains(errs.String(), "nobody") {
		t.Errorf("the log has %q", errs.String())
	}
}

// A command in a remedy is to be copied: it stays in one piece.
func TestRemedyText(t *testing.T) {
	command := "sudo sh -c 'nightclamp config sample > /etc/nightclamp/nightclamp.toml', and set your own values there"
	if got := remedyText(command); got != command {
		t.Errorf("got %q", got)
	}
	if got := remedyText(strings.Repeat("look at the bag ", 8)); !strings.Contains(got, "\n") {
		t.Errorf("got %q", got)
	}
}
