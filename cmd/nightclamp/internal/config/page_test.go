package config_test

import (
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/sensor/drivers"
)

// Every example in the pages of the drivers loads, put below a press.
func TestDriverPagesLoad(t *testing.T) {
	dir := t.TempDir()
	write(t, filepath.Join(dir, "nats-password"), "something\n")
	for _, d := range drivers.Table() {
		for _, e := range regexp.MustCompile("(?ms)^```toml\n(.*?)^```$").FindAllStringSubmatch(d.Page, -1) {
			text := "[[press]]\nname = \"sled\"\n" + strings.ReplaceAll(e[1], "/etc/nightclamp", dir)
			c, err := config.Parse("page of "+d.Name, []byte(text), config.BuiltIn())
			if err != nil {
				t.Errorf("%v\n%s", err, text)
				continue
			}
			if len(c.Presses) != 1 || len(c.Presses[0].Sensors) != strings.Count(e[1], "[[press.sensor]]") {
				t.Errorf("%s: presses %+v", d.Name, c.Presses)
			}
		}
	}
}
