// Package refdata reads the published check values in testdata/reference for tests.
package refdata

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"
)

// A Row is one data row of a reference table, by column name.
type Row map[string]string

// Read returns the data rows of testdata/reference/name, skipping the lines that start with #.
// It is called from a package two folders below the module root.
func Read(t testing.TB, name string) []Row {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "reference", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	r.FieldsPerRecord = -1
	records, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(records) < 2 {
		t.Fatalf("%s holds no data rows", name)
	}
	head := records[0]
	rows := make([]Row, 0, len(records)-1)
	for _, rec := range records[1:] {
		row := Row{}
		for i, v := range rec {
			if i < len(head) {
				row[head[i]] = v
			}
		}
		rows = append(rows, row)
	}
	return rows
}

// F returns the number in a column; a missing or malformed one fails the test.
func (r Row) F(t testing.TB, column string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(r[column], 64)
	if err != nil {
		t.Fatalf("column %q: %v", column, err)
	}
	return v
}

// Has reports whether the source prints a value in the column.
func (r Row) Has(column string) bool { return r[column] != "" }
