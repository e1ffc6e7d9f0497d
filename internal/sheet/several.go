package sheet

import (
	"fmt"

	"bellmouth/internal/formula"
	"bellmouth/internal/spec"
)

// eachShaft says, behind a note, that a table's shaft speed is that of each turbocharger and the figures named that of all together; "" where there is one.
func eachShaft(t *spec.Trim, all string) string {
	if t.Compressor == nil || t.Compressor.Count < 2 {
		return ""
	}
	if all != "" {
		all = ", " + all + " that of all together"
	}
	return fmt.Sprintf(" Shaft speed is that of each of the %d turbochargers%s.", t.Compressor.Count, all)
}

// allTurbines says, behind a note, that the figures named are those of all turbochargers together; "" where there is one.
func allTurbines(t *spec.Trim, all string) string {
	if t.Compressor == nil || t.Compressor.Count < 2 {
		return ""
	}
	return fmt.Sprintf(" %s of all %d turbochargers together.", all, t.Compressor.Count)
}

// allThroats says, behind a note, that the figures named are those of all restrictors together; "" where there is one.
func allThroats(t *spec.Trim, all string) string {
	if n := t.Intake.Restrictor.Throats(); n > 1 {
		return fmt.Sprintf(" %s of all %d restrictors together.", all, n)
	}
	return ""
}

// severalEntries have the heads that stand only where there are several.
func severalEntries() []formula.Entry {
	return []formula.Entry{{Key: "restrictor_bore_m", Also: []string{"bore of each"}}}
}
