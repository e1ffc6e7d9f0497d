package table_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// In writes the figures of every place that words have, and leaves the document that it was given.
func TestInReachesEveryWord(t *testing.T) {
	made := func(at string) table.Document {
		return table.Document{
			Command: "check", Spec: "engine.yaml", Warnings: []string{"warned " + at}, Cautions: []string{"careful " + at},
			Tables: []table.Table{{
				Name: "checks", Trim: "open", Venue: "valley", Notes: []string{"below " + at},
				Columns: []table.Column{{Key: "bore_m", Title: "bore " + at, Quantity: units.Length, Digits: 3}},
				Rows: [][]table.Cell{
					{table.Text("words " + at).Noted("note " + at).Toned(table.Failed)}, {table.List("one "+at, "two")}, {table.Num(3).As(units.Time)},
					{table.Missing("why " + at)}, {table.Null()}, {table.YesNo(true)},
				},
			}},
		}
	}
	marked, kept := made(units.Mark(293.15, units.Temperature)), made(units.Mark(293.15, units.Temperature))
	assert.Equal(t, made("20 degC"), marked.In(units.Metric))
	assert.Equal(t, made("68 degF"), marked.In(units.Imperial))
	assert.Equal(t, made("293.1 K"), marked.In(units.SI))
	assert.Equal(t, kept, marked)
	assert.Equal(t, table.Document{Tables: []table.Table{{}}}, table.Document{Tables: []table.Table{{}}}.In(units.SI), "nil stays nil")
}

// Rows are sorted by what metric reads, so that the units asked for change no order.
func TestSortIsTheSameInAllSystems(t *testing.T) {
	bore := func(x float64) []table.Cell { return []table.Cell{table.Text(units.Mark(x, units.Temperature))} }
	doc := table.Document{Tables: []table.Table{{Name: "t", Columns: []table.Column{{Key: "at", Title: "at"}},
		Rows: [][]table.Cell{bore(278.15), bore(283.15), bore(293.15)}}}}
	got, err := table.Pick{Sort: "at"}.Of(doc)
	assert.NoError(t, err)
	var order []string
	for _, row := range got.In(units.Imperial).Tables[0].Rows {
		order = append(order, row[0].Text())
	}
	assert.Equal(t, []string{"50 degF", "68 degF", "41 degF"}, order, "10 degC, 20 degC, 5 degC, as words stand")
}
