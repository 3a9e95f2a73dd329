package web

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"
)

// The description names each path of the API, and none that is not there.
func TestDescriptionNamesEveryRoute(t *testing.T) {
	var doc struct {
		Paths map[string]map[string]json.RawMessage `json:"paths"`
	}
	if err := json.Unmarshal(description, &doc); err != nil {
		t.Fatal(err)
	}
	var described, served []string
	for path, methods := range doc.Paths {
		for method := range methods {
			described = append(described, strings.ToUpper(method)+" "+path)
		}
	}
	s := &server{Config: Config{
		Control: struct{ Controller }{}, Records: struct{ Records }{}, InForce: func() (InForce, error) { return InForce{}, nil },
		Replies: struct{ Replies }{}, Keeping: struct{ Keeping }{},
	}}
	for _, r := range s.routes() {
		served = append(served, r.pattern)
	}
	slices.Sort(described)
	slices.Sort(served)
	if !slices.Equal(described, served) {
		t.Errorf("described:\n%s\nserved:\n%s", strings.Join(described, "\n"), strings.Join(served, "\n"))
	}
}
