package doctor

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/cure/datasheets"
)

const settings = "config"

// config says what is wrong with the config, and what is allowed and deserves a
// second thought.
func (e *examination) config(broken error) {
	if broken != nil {
		for _, err := range leaves(broken) {
			e.add(settings, Wrong, err.Error(), "mend it; until then the other checks go by the defaults (nightclamp config check says the same)")
		}
		return
	}
	if e.cfg.Path == "" {
		e.add(settings, Attention, "there is no config file, so the defaults hold", "sudo sh -c 'nightclamp config sample > "+config.Places()[len(config.Places())-1]+"', and set your sensors")
		return
	}
	e.ok(settings, "%s is good: site %s, %d press(es)", e.cfg.Path, e.cfg.Site, len(e.cfg.Presses))
	if info, err := os.Stat(e.cfg.Path); err == nil && !e.who.may(info, toRead) {
		e.add(settings, Wrong, fmt.Sprintf("%s may not read %s", e.who.name, e.cfg.Path), fmt.Sprintf("sudo chgrp %s %s && sudo chmod 640 %s", e.who.name, e.cfg.Path, e.cfg.Path))
	}
	for _, warning := range e.cfg.Warnings() {
		if e.cfg.CheckSensors() != nil && warning == e.cfg.CheckSensors().Error() {
			continue // said of the sensors
		}
		e.add(settings, Attention, warning, "change it, if it is not meant so")
	}
}

// leaves takes joined errors apart, also those that were wrapped once.
func leaves(err error) []error {
	var joined interface{ Unwrap() []error }
	if !errors.As(err, &joined) {
		return []error{err}
	}
	var all []error
	for _, one := range joined.Unwrap() {
		all = append(all, leaves(one)...)
	}
	return all
}

const adhesives = "datasheets"

// datasheets reads every adhesive that a press or the builder's folder names.
func (e *examination) datasheets() {
	n := len(e.report.Findings)
	seen := map[string]bool{}
	for _, p := range e.cfg.Presses {
		switch {
		case p.Glue == "":
			e.add(adhesives, Attention, fmt.Sprintf("press %s has no adhesive: a run that nobody started has no press time", p.Name), "set glue in the config, or begin with nightclamp start --glue NAME (nightclamp glue list)")
		case !seen[p.Glue]:
			seen[p.Glue] = true
			e.sheet(e.cfg.Glue(p.Glue))
		}
	}
	if e.cfg.GlueFolder != "" {
		for _, path := range e.glob(filepath.Join(e.cfg.GlueFolder, "*.toml")) {
			if !seen[path] {
				e.sheet(e.path(path))
			}
		}
	}
	if len(e.report.Findings) == n {
		e.ok(adhesives, "none is named")
	}
}

func (e *examination) sheet(name string) {
	s, _, err := datasheets.Load(name)
	if err != nil {
		e.add(adhesives, Wrong, fmt.Sprintf("%s: %v", name, err), "nightclamp glue check FILE says all that is wrong with one; nightclamp glue list names the built-in ones")
		return
	}
	for _, doubt := range s.Doubts() {
		e.add(adhesives, Attention, fmt.Sprintf("%s: %s", s.Name, doubt), "compare it with the sheet of the can in front of you")
	}
	e.ok(adhesives, "%s is read", s.Name)
}
