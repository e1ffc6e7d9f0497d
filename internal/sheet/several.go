package sheet

import (
	"fmt"

	"bellmouth/internal/formula"
	"bellmouth/internal/spec"
)

// eachShaft says that a table's shaft speed is that of each turbocharger and the figures named that of all together; nothing where there is one.
func eachShaft(t *spec.Trim, all string) []string {
	if t.Compressor == nil || t.Compressor.Count < 2 {
		return nil
	}
	if all != "" {
		all = ", " + all + " that of all together"
	}
	return []string{fmt.Sprintf("Shaft speed is that of each of the %d turbochargers%s.", t.Compressor.Count, all)}
}

// allTurbines says that the figures named are those of all turbochargers together; nothing where there is one.
func allTurbines(t *spec.Trim, all string) []string {
	if t.Compressor == nil || t.Compressor.Count < 2 {
		return nil
	}
	return []string{fmt.Sprintf("%s of all %d turbochargers together.", all, t.Compressor.Count)}
}

// allThroats says that the figures named are those of all restrictors together; nothing where there is one.
func allThroats(t *spec.Trim, all string) []string {
	if n := t.Intake.Restrictor.Throats(); n > 1 {
		return []string{fmt.Sprintf("%s of all %d restrictors together.", all, n)}
	}
	return nil
}

// severalEntries have the heads that stand only where there are several.
func severalEntries() []formula.Entry {
	return []formula.Entry{{Key: "restrictor_bore_m", Also: []string{"bore of each"}}}
}
