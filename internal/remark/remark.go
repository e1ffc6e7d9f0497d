// Package remark puts sets of remarks, one bit each, into words.
package remark

import (
	"math/bits"
	"strings"
)

// Texts returns the words of the remarks in a set, from the lowest bit up. A bit without words says nothing.
func Texts[N ~uint | ~uint8 | ~uint16 | ~uint32 | ~uint64](set N, words map[N]string) []string {
	var texts []string
	for rest := uint64(set); rest != 0; rest &= rest - 1 {
		if text, ok := words[N(1)<<bits.TrailingZeros64(rest)]; ok {
			texts = append(texts, text)
		}
	}
	return texts
}

// Line returns texts in one line. A beginning up to a colon that the last text had is not said again.
func Line(texts []string) string {
	var line strings.Builder
	last := ""
	for i, text := range texts {
		head, tail, ok := strings.Cut(text, ": ")
		switch {
		case i > 0 && ok && head == last:
			text = tail
			fallthrough
		case i > 0:
			line.WriteString("; ")
		}
		line.WriteString(text)
		if last = head; !ok {
			last = ""
		}
	}
	return line.String()
}
