package render

import (
	"strings"
	"unicode/utf8"

	"github.com/mattn/go-runewidth"

	"bellmouth/internal/units"
)

// columns counts columns the same in every locale, so that output does not depend on the environment.
var columns = &runewidth.Condition{EastAsianWidth: false, StrictEmojiNeutral: true}

// width returns how many columns s takes.
func width(s string) int { return columns.StringWidth(s) }

func spaces(n int) string { return strings.Repeat(" ", max(n, 0)) }

// wrap breaks s at spaces into lines of at most room columns, and inside a word only where the word alone is wider. A figure
// and its unit stay together. There is at least one line.
func wrap(s string, room int) []string {
	if width(s) <= room {
		return []string{s}
	}
	var lines []string
	line, used := "", 0
	words := strings.Split(s, " ")
	for i := 0; i < len(words); i++ {
		word := words[i]
		if word == "" {
			continue
		}
		if i+2 < len(words) && isFigure(word) && words[i+1] != "" && words[i+2] != "" && !isUnit(words[i+1]) && isUnit(words[i+1]+" "+words[i+2]) { // "US gal"
			words[i+2] = words[i+1] + " " + words[i+2]
			i++
		}
		if i+1 < len(words) && isFigure(word) && isUnit(words[i+1]) && width(word)+1+width(words[i+1]) <= room {
			i++
			word += " " + words[i]
		}
		w := width(word)
		if used > 0 && used+1+w <= room {
			line, used = line+" "+word, used+1+w
			continue
		}
		if used > 0 {
			lines = append(lines, line)
		}
		for w > room {
			head := columns.Truncate(word, room, "")
			if head == "" { // a rune wider than the room: print it rather than stop
				_, size := utf8.DecodeRuneInString(word)
				head = word[:size]
			}
			if head == word {
				break
			}
			if cut := strings.LastIndexAny(head, wordBreaks); cut > 0 { // a key of the spec is read by its parts
				head = head[:cut+1]
			}
			lines = append(lines, head)
			word = word[len(head):]
			w = width(word)
		}
		line, used = word, w
	}
	if used > 0 || len(lines) == 0 {
		lines = append(lines, line)
	}
	return lines
}

// wordBreaks are after what a word is broken by preference where it has to be.
const wordBreaks = "./=_|"

// isFigure reports whether a word is a number, such as 1.55 or -3.
func isFigure(word string) bool {
	number, rest := units.Split(word)
	return number != "" && rest == ""
}

// isUnit reports whether a word is a unit, with what punctuation follows it.
func isUnit(word string) bool {
	word = strings.TrimRight(word, ".,;:)")
	for k := units.Fraction; word != "" && k <= units.HighVoltage; k++ {
		if _, ok := units.UnitNamed(word, k); ok {
			return true
		}
	}
	return false
}

// longestIn returns the width of the widest word of s, or limit if that is less.
func longestIn(s string, limit int) int {
	longest := 0
	for _, word := range strings.Split(s, " ") {
		longest = max(longest, width(word))
	}
	return min(longest, limit)
}

// titleWidth returns the narrowest width in which a title takes no more than two lines, or limit if that is less.
func titleWidth(title string, limit int) int {
	narrowest := width(title)
	for i, r := range title {
		if r == ' ' {
			narrowest = min(narrowest, max(width(title[:i]), width(title[i+1:])))
		}
	}
	return min(narrowest, limit)
}
