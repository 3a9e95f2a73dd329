package main

import (
	"encoding/json"
	"regexp"
	"strings"
	"testing"

	"github.com/spf13/cobra"
)

// Whoever gives a command too few words learns what it takes.
func TestTooFewWords(t *testing.T) {
	for args, says := range map[string]string{
		"plan":           "nightclamp plan --sample > deck.toml",
		"glue check":     "nightclamp glue check FILE",
		"glue show a b":  `"a b" are not the arguments`,
		"glue list none": "unknown command",
		"glue sow":       `unknown command "sow" for "nightclamp glue"`,
		"alert akc":      `did you mean "ack"?`,
	} {
		if r := command(t, "", strings.Fields(args)...); r.code != exitUsage || !strings.Contains(r.err, says) {
			t.Errorf("%s: exit %d: %s", args, r.code, r.err)
		}
	}
}

func TestGlueShowTellsWhatToKnowBefore(t *testing.T) {
	r := command(t, "", "glue", "show", "uf-two-part")
	// Light-aircraft construction manual, appendix on gluing, 2002: closed 10 min at 20 °C.
	for _, says := range []string{"closed 10 min at 20.0 °C", "200 to 400 g/m²", "38 % of it water", "7 to 13 % moisture"} {
		if !strings.Contains(r.out, says) {
			t.Errorf("glue show does not say %q:\n%s", says, r.out)
		}
	}
	if r := command(t, "", "glue", "schema"); !json.Valid([]byte(r.out)) {
		t.Errorf("glue schema: %s", r.out)
	}
}

// A quantity that is not given is nothing, not 0 kPa.
func TestHelpKnowsNoZeroDefaults(t *testing.T) {
	var look func(c *cobra.Command)
	look = func(c *cobra.Command) {
		if usage := c.UsageString(); regexp.MustCompile(`default 0[a-zA-Z]`).MatchString(usage) {
			t.Errorf("%s:\n%s", c.CommandPath(), usage)
		}
		for _, sub := range c.Commands() {
			look(sub)
		}
	}
	look((&app{}).root())
}
