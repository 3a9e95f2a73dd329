package main

import (
	"encoding/json"
	"regexp"
	"strings"
	"testing"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/sensor/drivers"
)

// pasted is what somebody pastes who takes the table of keys out of the output.
func pasted(t *testing.T, driver string) string {
	t.Helper()
	r := command(t, "", "sensor", "list", driver)
	if r.code != exitOK {
		t.Fatalf("exit %d: %s", r.code, r.err)
	}
	_, rest, found := strings.Cut(r.out, "# It can read: ")
	if !found {
		t.Fatalf("no table of keys in\n%s", r.out)
	}
	text, _, _ := strings.Cut("# "+rest, "\n\n")
	return "[[press]]\nname = \"sled\"\n" + text + "\n"
}

// needed are the keys that have no default and must be there.
var needed = strings.NewReplacer(
	"#path = …", `path = "night.csv"`, "#port = …", `port = "/dev/ttyS0"`, "#subject = …", `subject = "shed.deck.bag"`)

// The keys of every driver as they are printed, all taken up, are a config that
// loads, and are all the keys with a default there are. (That they mean the
// defaults is held in package drivers.)
func TestSensorListIsConfig(t *testing.T) {
	key := regexp.MustCompile(`(?m)^#([a-z0-9_.]+ = [^…])`)
	for _, d := range drivers.Table() {
		text := needed.Replace(pasted(t, d.Name))
		for what, text := range map[string]string{"as printed": text, "taken up": key.ReplaceAllString(text, "$1")} {
			c, err := config.Parse("pasted", []byte(text), config.BuiltIn())
			if err != nil {
				t.Errorf("%s %s: %v\n%s", d.Name, what, err, text)
				continue
			}
			if s := c.Presses[0].Sensors; len(s) != 1 || s[0].Driver != d.Name {
				t.Errorf("%s %s: sensors %+v", d.Name, what, s)
			}
		}
		defaults := 0
		for _, o := range d.Options {
			if o.Default != "" {
				defaults++
			}
		}
		if n := len(key.FindAllString(text, -1)); n != defaults {
			t.Errorf("%s: %d keys are printed with a default, there are %d", d.Name, n, defaults)
		}
	}
}

// The keys stand above the page, unless there are so many that they would
// push it out of sight.
func TestSensorListHasPage(t *testing.T) {
	for _, d := range drivers.Table() {
		r := command(t, "", "sensor", "list", d.Name)
		if !strings.Contains(r.out, d.Page) {
			t.Errorf("%s: its page is not printed", d.Name)
		}
		if pageFirst := strings.HasPrefix(r.out, "# "+d.Name+": "); pageFirst != (d.Name == "sim") {
			t.Errorf("%s: page first is %v", d.Name, pageFirst)
		}
	}
	r := command(t, "", "sensor", "list", "mpr", "--json")
	var text driverText
	if err := json.Unmarshal([]byte(r.out), &text); err != nil || !strings.Contains(text.Page, "## Wiring") {
		t.Errorf("%v: %s", err, r.out)
	}
}

// Where nothing was found there are no lines to put anywhere.
func TestScanOfBareMachine(t *testing.T) {
	r := command(t, "", "sensor", "scan", "--root", t.TempDir(), "--bus", "1")
	if r.code != exitOK || !strings.Contains(r.out, "Nothing was found.") || strings.Contains(r.out, "Put the lines") || strings.Contains(r.out, "there are .") {
		t.Errorf("exit %d:\n%s%s", r.code, r.out, r.err)
	}
}
