package table

import "bellmouth/internal/units"

// A Field is a column together with how a record of type T fills it.
type Field[T any] struct {
	Column
	Get func(record T) Cell
}

// Of returns a wide table with one row a record and one column a field.
func Of[T any](name string, records []T, fields ...Field[T]) Table {
	t := Table{Name: name, Columns: make([]Column, len(fields)), Rows: make([][]Cell, len(records))}
	for i, field := range fields {
		t.Columns[i] = field.Column
	}
	cells := make([]Cell, len(records)*len(fields))
	for i, record := range records {
		row := cells[i*len(fields) : (i+1)*len(fields) : (i+1)*len(fields)]
		for j, field := range fields {
			row[j] = field.Get(record)
		}
		t.Rows[i] = row
	}
	return t
}

// One returns a tall table of a single record.
func One[T any](name string, record T, fields ...Field[T]) Table {
	t := Of(name, []T{record}, fields...)
	t.Layout = Tall
	return t
}

// Plane returns a table over two axes, with one record a point: down and across are the axes.
func Plane[T any](name string, records []T, down, across Field[T], values ...Field[T]) Table {
	t := Of(name, records, append([]Field[T]{down, across}, values...)...)
	t.Layout = Grid
	return t
}

// SideBySide is Plane for records of things that are compared: a line for each place down holds the first value of all places across.
func SideBySide[T any](name string, records []T, down, across Field[T], values ...Field[T]) Table {
	t := Plane(name, records, down, across, values...)
	t.Layout = Beside
	return t
}

// Cells returns a field that writes its own cells, for missing values, notes and tones.
func Cells[T any](key, title string, quantity units.Kind, get func(T) Cell) Field[T] {
	return Field[T]{Column{Key: key, Title: title, Quantity: quantity, Digits: DefaultDigits}, get}
}

// Number returns a field of numbers in SI.
func Number[T any](key, title string, quantity units.Kind, get func(T) float64) Field[T] {
	return Cells(key, title, quantity, func(record T) Cell { return Num(get(record)) })
}

// Counts returns a field of whole numbers.
func Counts[T any](key, title string, get func(T) int) Field[T] {
	return Cells(key, title, units.Number, func(record T) Cell { return Count(get(record)) }).WithDigits(0)
}

// Words returns a field of text.
func Words[T any](key, title string, get func(T) string) Field[T] {
	return Cells(key, title, units.Number, func(record T) Cell { return Text(get(record)) })
}

// Lists returns a field of lists of words.
func Lists[T any](key, title string, get func(T) []string) Field[T] {
	return Cells(key, title, units.Number, func(record T) Cell { return List(get(record)...) })
}

// Truths returns a field of yes and no.
func Truths[T any](key, title string, get func(T) bool) Field[T] {
	return Cells(key, title, units.Number, func(record T) Cell { return YesNo(get(record)) })
}

// WithDigits returns the field with that many decimals in the metric unit.
func (f Field[T]) WithDigits(digits int) Field[T] {
	f.Digits = digits
	return f
}

// InDetail returns the field as one that only CSV and JSON show.
func (f Field[T]) InDetail() Field[T] {
	f.Detail = true
	return f
}

// A Known makes fields of records whose figures may be missing: it returns why a record's are, and nil where they are known. What stands in the
// note of a missing cell is the error's text.
type Known[T any] func(record T) error

// And returns a Known that asks for more: the first reason found is the one that is told.
func (k Known[T]) And(more func(record T) error) Known[T] {
	return func(record T) error {
		if err := k(record); err != nil {
			return err
		}
		return more(record)
	}
}

// Cells is Cells where the figures are known.
func (k Known[T]) Cells(key, title string, quantity units.Kind, get func(T) Cell) Field[T] {
	return Cells(key, title, quantity, func(record T) Cell {
		if err := k(record); err != nil {
			return Missing(err.Error())
		}
		return get(record)
	})
}

// Number is Number where the figures are known.
func (k Known[T]) Number(key, title string, quantity units.Kind, get func(T) float64) Field[T] {
	return k.Cells(key, title, quantity, func(record T) Cell { return Num(get(record)) })
}

// Answer is Number for a figure that may have a reason of its own to be missing.
func (k Known[T]) Answer(key, title string, quantity units.Kind, get func(T) (float64, error)) Field[T] {
	return k.Cells(key, title, quantity, func(record T) Cell {
		x, err := get(record)
		if err != nil {
			return Missing(err.Error())
		}
		return Num(x)
	})
}
