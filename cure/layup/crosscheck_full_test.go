//go:build full

package layup

import (
	"encoding/json"
	"os/exec"
	"testing"
)

// Source: SciPy's stiff solver (BDF) on the same slab by the method of lines,
// with the nodes on the cell boundaries: 11 mm of maple between 60 mm of foam.
func TestSlabAgainstSciPy(t *testing.T) {
	python := ""
	for _, name := range []string{"python3", "/usr/bin/python3"} {
		if python == "" && exec.Command(name, "-c", "import scipy").Run() == nil {
			python = name
		}
	}
	if python == "" {
		t.Skip("no Python with SciPy; as root: apt-get install --no-install-recommends python3-scipy")
	}
	out, err := exec.Command(python, "../testdata/crosscheck.py", "slab").Output()
	if err != nil {
		t.Fatalf("run ../testdata/crosscheck.py slab: %v", err)
	}
	var want struct {
		Share []float64 `json:"share"`
		Rise  []float64 `json:"rise_s"`
	}
	if err := json.Unmarshal(out, &want); err != nil {
		t.Fatalf("read what crosscheck.py printed: %v", err)
	}
	s := Slab{Layers: []Layer{extruded(.060), mapleDeck(.011), extruded(.060)}, FilmTop: 8, FilmBottom: 8}
	for i, share := range want.Share {
		almost(t, "rise, s", s.Rise(2, share), want.Rise[i], 0.002*want.Rise[i])
	}
}
