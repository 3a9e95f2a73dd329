package config_test

import (
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"golang.org/x/crypto/bcrypt"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/deploy"
)

// sample is the sample file with the files it names really there.
func sample(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	for _, name := range []string{"nats.creds", "nats-ca.pem", "nats-cert.pem", "nats-key.pem", "nats-password", "nats-token", "page-cert.pem", "page-key.pem", "glue/mine.toml"} {
		write(t, filepath.Join(dir, name), "something\n")
	}
	write(t, filepath.Join(dir, "phone.url"), "ntfy://ntfy.example.org/sled\n")
	hash, err := bcrypt.GenerateFromPassword([]byte("birch and larch"), bcrypt.MinCost)
	if err != nil {
		t.Fatal(err)
	}
	write(t, filepath.Join(dir, "page.hash"), string(hash)+"\n")
	write(t, filepath.Join(dir, "page.guest"), "a word of at least sixteen\n")
	write(t, filepath.Join(dir, "ping.url"), "https://watch.example.org/sled\n")
	return strings.ReplaceAll(deploy.SampleConfig(), "/etc/nightclamp", dir)
}

func TestSampleLoads(t *testing.T) {
	c, err := config.Parse("sample", []byte(deploy.SampleConfig()), config.BuiltIn())
	if err != nil {
		t.Fatal(err)
	}
	if len(c.Presses) != 1 || len(c.Presses[0].Sensors) != 3 {
		t.Errorf("presses %+v", c.Presses)
	}
}

// commented is a line of the sample that takes effect without its #.
var commented = regexp.MustCompile(`(?m)^#(\w+ = |\[)`)

// Every key that is commented out works: each paragraph of the sample, with the
// # taken away, still makes a config that loads.
func TestSampleUncommented(t *testing.T) {
	paragraphs := strings.Split(sample(t), "\n\n")
	n := 0
	for i, p := range paragraphs {
		if !commented.MatchString(p) {
			continue
		}
		n++
		all := append([]string(nil), paragraphs...)
		all[i] = commented.ReplaceAllString(p, "$1")
		if _, err := config.Parse("sample", []byte(strings.Join(all, "\n\n")), config.BuiltIn()); err != nil {
			t.Errorf("%v\nin the paragraph\n%s", err, all[i])
		}
	}
	if n < 15 {
		t.Errorf("only %d paragraphs have a key to uncomment", n)
	}
}

// What the sample shows as holding without a key is what holds without it.
func TestSampleTellsDefaults(t *testing.T) {
	t.Setenv("STATE_DIRECTORY", "/var/lib/nightclamp")
	example := regexp.MustCompile(`(?m)^#(station_pressure|glue_folder|build_log|ramdisk|thin_after|max_size|url|credentials|ca|cert|key|user|password|password_file|guest_file|user_header|proxies|hosts|public_url|token|token_file|glue|url_file|name|at_least|after|quiet|mqtt_listen|lamp|buzzer|button|press|pin|start_below|stop_above|alertmanager|bus|address|id|night_low|day_high|heating|\[).*$\n?`)
	text := example.ReplaceAllString(deploy.SampleConfig(), "")
	told, err := config.Parse("sample", []byte(commented.ReplaceAllString(text, "$1")), nil)
	if err != nil {
		t.Fatal(err)
	}
	plain, err := config.Parse("sample", []byte(deploy.SampleConfig()), nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []*config.Config{told, plain} {
		for i := range c.Presses[0].Sensors {
			c.Presses[0].Sensors[i].Where = ""
		}
	}
	if a, b := fmt.Sprintf("%+v", told), fmt.Sprintf("%+v", plain); a != b {
		t.Errorf("with the defaults written out\n%s\nwithout\n%s", a, b)
	}
}

// The sample has every key of the structs.
func TestSampleIsWhole(t *testing.T) {
	var look func(typ reflect.Type, table string)
	look = func(typ reflect.Type, table string) {
		for i := range typ.NumField() {
			key, _, _ := strings.Cut(typ.Field(i).Tag.Get("toml"), ",")
			if key == "" || key == "-" {
				continue
			}
			sub := typ.Field(i).Type
			for sub.Kind() == reflect.Slice {
				sub = sub.Elem()
			}
			path := strings.TrimPrefix(table+"."+key, ".")
			if sub.Kind() == reflect.Struct {
				look(sub, path)
			}
			if !inSample(table, key) {
				t.Errorf("the sample says nothing of %s", path)
			}
		}
	}
	look(reflect.TypeFor[config.Config](), "")
}

// inSample looks for the key, or a table of that name, below the table's header.
func inSample(table, key string) bool {
	path := regexp.QuoteMeta(strings.TrimPrefix(table+"."+key, "."))
	if regexp.MustCompile(`(?m)^#?\[+` + path + `[].]`).MatchString(deploy.SampleConfig()) {
		return true
	}
	header := regexp.MustCompile(`(?m)^#?\[+([a-z.]+)\]`)
	at := ""
	for line := range strings.SplitSeq(deploy.SampleConfig(), "\n") {
		if m := header.FindStringSubmatch(line); m != nil {
			at = m[1]
		}
		if at == table && regexp.MustCompile(`^#?`+key+` = `).MatchString(line) {
			return true
		}
	}
	return false
}

func FuzzParse(f *testing.F) {
	f.Add(deploy.SampleConfig())
	f.Add(whole)
	f.Add("press = [{name=\"a\", sensor=[{driver=1}]}]")
	f.Add("[[press.sensor]]\n[[press]]\n\"a.b\".c = 1\n")
	f.Add("[a]\nb.c = [[{d=1}]]\n[a.b.e]\n")
	f.Fuzz(func(t *testing.T, text string) {
		if strings.ContainsAny(text, "/\\") { // no wandering about the machine
			return
		}
		c, err := config.Parse("f.toml", []byte(text), table{})
		if err != nil {
			for line := range strings.SplitSeq(err.Error(), "\n") {
				if line == "" || len(line) > 4096 {
					t.Fatalf("an error of %d bytes", len(line))
				}
			}
			return
		}
		// What was taken is whole, and can be shown and taken again.
		if len(c.Presses) == 0 || c.Site == "" || c.Display.Units().Location == nil {
			t.Fatalf("not whole: %+v", c)
		}
		var b strings.Builder
		if err := c.Show(&b); err != nil {
			t.Fatal(err)
		}
		if strings.Contains(b.String(), "(hidden)") {
			return
		}
		if _, err := config.Parse("f.toml", []byte(b.String()), table{}); err != nil {
			t.Fatalf("shown and refused: %v\n%s", err, b.String())
		}
	})
}

func BenchmarkParse(b *testing.B) {
	text, err := os.ReadFile("../../../../deploy/nightclamp.toml")
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := config.Parse("sample", text, table{}); err != nil {
			b.Fatal(err)
		}
	}
}
