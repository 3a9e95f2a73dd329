package main

import (
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/cure/datasheets"
	"github.com/nightclamp/nightclamp/dashboards/web"
)

// ownGlues are the names of the datasheets in the builder's own folder.
func ownGlues(cfg *config.Config) []string {
	if cfg.GlueFolder == "" {
		return nil
	}
	files, err := filepath.Glob(filepath.Join(cfg.GlueFolder, "*.toml"))
	if err != nil { // the folder's name is no pattern that can be read: there is nothing in it
		return nil
	}
	var names []string
	for _, f := range files {
		if info, err := os.Stat(f); err == nil && info.Mode().IsRegular() {
			names = append(names, strings.TrimSuffix(filepath.Base(f), ".toml"))
		}
	}
	return names
}

// glueNames are all names that can be given for an adhesive, the builder's own
// ones first; one of those hides the built-in one of the same name.
func glueNames(cfg *config.Config) (names []string, own int) {
	names = ownGlues(cfg)
	own = len(names)
	for _, name := range datasheets.Names() {
		if !slices.Contains(names[:own], name) {
			names = append(names, name)
		}
	}
	return names, own
}

// glues are the adhesives that the page offers. They are read anew each time: a
// datasheet is put there while the daemon runs. One that cannot be read is left
// out, with a word in the log.
func (h house) glues() []web.Datasheet {
	var list []web.Datasheet
	names, own := glueNames(h.cfg)
	for i, name := range names {
		s, _, err := sheetsOf(h.cfg)(name)
		if err != nil {
			h.log.Warn("datasheet cannot be read; check it with nightclamp glue check", "glue", name, "error", err)
			continue
		}
		list = append(list, web.Datasheet{Name: name, Own: i < own, Sheet: s})
	}
	return list
}
