package web

import (
	"regexp"
	"strings"
	"testing"
)

// A page names every module that it needs, so that the browser fetches them at
// once instead of finding one behind the other.
func TestModulesArePreloaded(t *testing.T) {
	imports := regexp.MustCompile(`(?m)^import .* from "\./([a-z]+\.js)";$`)
	for html, first := range map[string]string{"index.html": "app.js", "runs.html": "runs.js", "compare.html": "compare.js", "outcome.html": "outcome.js", "glues.html": "glues.js", "settings.html": "settings.js"} {
		body, err := page.ReadFile("page/" + html)
		if err != nil {
			t.Fatal(err)
		}
		seen := map[string]bool{}
		for queue := []string{first}; len(queue) > 0; queue = queue[1:] {
			source, err := page.ReadFile("page/" + queue[0])
			if err != nil {
				t.Fatal(err)
			}
			for _, m := range imports.FindAllStringSubmatch(string(source), -1) {
				if !seen[m[1]] {
					seen[m[1]] = true
					queue = append(queue, m[1])
				}
			}
		}
		if len(seen) < 1 {
			t.Fatalf("%s imports only %v; is the pattern right?", first, seen)
		}
		for name := range seen {
			if !strings.Contains(string(body), `<link rel="modulepreload" href="`+name+`">`) {
				t.Errorf("%s does not preload %s", html, name)
			}
		}
		if n := strings.Count(string(body), "modulepreload"); n != len(seen) {
			t.Errorf("%s preloads %d modules and needs %d", html, n, len(seen))
		}
	}
}
