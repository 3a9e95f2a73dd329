package daemon

import (
	"github.com/nightclamp/nightclamp/cure"
	"github.com/nightclamp/nightclamp/cure/layup"
	"github.com/nightclamp/nightclamp/press"
)

// withLayup takes from the order's lay-up what the order leaves open, and
// returns how the glue line of that stack follows the air. A lay-up that cannot
// be read has been refused by checkStart.
func withLayup(o *press.StartOrder) cure.GlueLineConfig {
	if o.Layup == "" {
		return cure.GlueLineConfig{}
	}
	l, err := layup.Parse("lay-up", []byte(o.Layup))
	if err != nil {
		return cure.GlueLineConfig{}
	}
	if o.Work == "" {
		o.Work = l.Work
	}
	if o.Glue == "" {
		o.Glue = l.Glue
	}
	if o.Plies == 0 {
		o.Plies = len(l.Plies)
	}
	if o.AreaM2 == 0 {
		o.AreaM2 = l.Area
	}
	if !o.FloorPa.Known() && l.Floor > 0 {
		o.FloorPa = press.Num(l.Floor)
	}
	if o.Strained == nil {
		o.Strained = &l.Strained
	}
	return l.GlueLine()
}

// stackOf is the same of a lay-up that is kept with a run.
func stackOf(text []byte) (cure.GlueLineConfig, error) {
	if len(text) == 0 {
		return cure.GlueLineConfig{}, nil
	}
	l, err := layup.Parse("lay-up", text)
	if err != nil {
		return cure.GlueLineConfig{}, err
	}
	return l.GlueLine(), nil
}

func layupText(text string) []byte {
	if text == "" {
		return nil
	}
	return []byte(text)
}
