package cure

import "strings"

// Nearest returns the known word that is the fewest keystrokes from word, and
// whether it is near enough to be a typo: at most a third of its letters.
func Nearest(word string, known []string) (string, bool) {
	word = strings.ToLower(word)
	best, least := "", -1
	for _, k := range known {
		d := distance(word, strings.ToLower(k))
		if least < 0 || d < least {
			best, least = k, d
		}
	}
	return best, least >= 0 && least <= max(2, len(best)/3) && least < len(best)
}

// distance is the Levenshtein distance of two words, in bytes.
func distance(a, b string) int {
	if len(a) > 64 || len(b) > 64 { // no key is that long
		return 64
	}
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			above := row[j+1]
			cost := diagonal
			if a[i] != b[j] {
				cost++
			}
			row[j+1] = min(cost, above+1, row[j]+1)
			diagonal = above
		}
	}
	return row[len(b)]
}
