package cure

import (
	"strings"

	"github.com/agext/levenshtein"
)

// Nearest returns the known word that is the fewest keystrokes from word, and
// whether it is near enough to be a typo: at most a third of its letters.
func Nearest(word string, known []string) (string, bool) {
	if len(word) > 64 { // no key is that long
		return "", false
	}
	word = strings.ToLower(word)
	best, least := "", -1
	for _, k := range known {
		d := levenshtein.Distance(word, strings.ToLower(k), nil)
		if least < 0 || d < least {
			best, least = k, d
		}
	}
	return best, least >= 0 && least <= max(2, len(best)/3) && least < len(best)
}
