// Package remark puts sets of remarks, one bit each, into words.
package remark

import "math/bits"

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
