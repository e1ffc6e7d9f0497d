package render_test

import (
	"bytes"
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"bellmouth/internal/render"
	"bellmouth/internal/table"
	"bellmouth/internal/units"

	"github.com/mattn/go-runewidth"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The outputs in these tests are written by hand from the rules in the documentation. Conversions in them: 123456 Pa is
// 1.23 bar and 17.9 psi (6894.757 Pa each, NIST SP 811), 0.2125 kg/s is 212.5 g/s and 28.11 lb/min (0.45359237 kg).

func TestText(t *testing.T) {
	assert.Equal(t, `operating points, trim capped

                  air    shaft
  speed  boost   flow    speed   limits
    rpm    bar    g/s      rpm

   2000   0.00   50.0        –¹  turbine
   6500   1.23  212.5²  118000   restrictor, shaft speed
   7000   1.00      –³       –¹  none

  ¹ not enough exhaust
  ² volumetric efficiency held flat above 6000 rpm
  ³ the calculation gave no finite number
  Boost is above the venue's pressure.

engine

  bore               84.0 mm
  displacement     2272.1 cm3
  rated power           –¹
  firing order     1-2-4-5-3
  rod clears bore  yes

  ¹ no fuel

limits

  limit           value      within

  peak pressure  142.50 bar  no
  shaft speed    118000 rpm  yes

Caution: A starting point, not a calibration.
`, text(t, document(), render.Options{}))
}

func TestTextInOtherUnits(t *testing.T) {
	doc := document()
	doc.Tables = doc.Tables[:1]
	doc.Tables[0].Rows = doc.Tables[0].Rows[1:2]
	doc.Cautions = nil
	doc.Tables[0].Notes = nil
	assert.Equal(t, `operating points, trim capped

                   air    shaft
  speed  boost    flow    speed  limits
    rpm    psi  lb/min      rpm

   6500   17.9   28.11¹  118000  restrictor, shaft speed

  ¹ volumetric efficiency held flat above 6000 rpm
`, text(t, doc, render.Options{System: units.Imperial}))
}

func TestTextWithColor(t *testing.T) {
	doc := document()
	doc.Tables = doc.Tables[2:]
	doc.Tables[0].Rows[1][1] = doc.Tables[0].Rows[1][1].Toned(table.Caution)
	const bold, red, yellow, off = "\x1b[1m", "\x1b[31m", "\x1b[33m", "\x1b[0m"
	colored := text(t, doc, render.Options{Color: true})
	assert.Equal(t, bold+"limits"+off+`

  `+bold+"limit"+off+"           "+bold+"value"+off+"      "+bold+"within"+off+`

  peak pressure  142.50 bar  `+red+"no"+off+`
  shaft speed    `+yellow+"118000 rpm"+off+`  yes

`+yellow+"Caution:"+off+" "+yellow+"A starting point, not a calibration."+off+"\n", colored)
	stripped := strings.NewReplacer(bold, "", red, "", yellow, "", off, "").Replace(colored)
	assert.Equal(t, text(t, doc, render.Options{}), stripped, "colour moves nothing")
}

// What does not fit beside the rest goes on below, with the first column again; a long text takes several lines.
func TestTextContinued(t *testing.T) {
	tab := table.Table{Name: "points", Rows: [][]table.Cell{nil, nil}}
	for _, title := range []string{"speed", "manifold temperature", "exhaust temperature", "compressor temperature", "remark"} {
		tab.Columns = append(tab.Columns, column("x", title, units.Temperature))
	}
	tab.Columns[0].Quantity, tab.Columns[4].Quantity = units.Speed, units.Number
	for i := range tab.Rows {
		for range 4 {
			tab.Rows[i] = append(tab.Rows[i], table.Num(rpm(6500)))
		}
		tab.Rows[i] = append(tab.Rows[i], table.Text("a remark that takes rather more than the room that is left for it"))
	}
	tab.Rows[1][4] = table.Text("short")
	// Speed 5 wide, the temperatures as wide as their longer words, and the remark at least 20: 2+5 +2+11 +2+11 +2+11 +2+20 is
	// 68 and fits in 80 with 12 to spare, which all go to the remark.
	assert.Equal(t, `points

            manifold      exhaust   compressor
  speed  temperature  temperature  temperature  remark
    rpm         degC         degC         degC

   6500          408          408          408  a remark that takes rather more
                                                than the room that is left for
                                                it
   6500          408          408          408  short
`, text(t, table.Document{Tables: []table.Table{tab}}, render.Options{Width: 80}))

	// Two more temperatures make it 94: the last column moves, and the first is repeated.
	tab.Columns = append(append(append([]table.Column{}, tab.Columns[:4]...), tab.Columns[1], tab.Columns[2]), tab.Columns[4])
	for i, row := range tab.Rows {
		tab.Rows[i] = append(append(append([]table.Cell{}, row[:4]...), row[1], row[2]), row[4])
	}
	assert.Equal(t, `points

            manifold      exhaust   compressor     manifold      exhaust
  speed  temperature  temperature  temperature  temperature  temperature
    rpm         degC         degC         degC         degC         degC

   6500          408          408          408          408          408
   6500          408          408          408          408          408

points, continued

  speed  remark
    rpm

   6500  a remark that takes rather more than the room that is left for it
   6500  short
`, text(t, table.Document{Tables: []table.Table{tab}}, render.Options{Width: 80}))
}

func TestTextOfNothing(t *testing.T) {
	assert.Empty(t, text(t, table.Document{Command: "boost"}, render.Options{}))
	tab := table.Table{Name: "points", Columns: []table.Column{column("rpm", "speed", units.Speed)}}
	assert.Equal(t, "points\n\n  Nothing to show.\n", text(t, table.Document{Tables: []table.Table{tab}}, render.Options{}))
	tab.Columns[0].Detail = true
	tab.Rows = [][]table.Cell{{table.Num(1)}}
	assert.Equal(t, "points\n", text(t, table.Document{Tables: []table.Table{tab}}, render.Options{}))
}

func TestTextReportsTheWriter(t *testing.T) {
	assert.ErrorIs(t, render.Text(full{}, document(), render.Options{}), errFull)
	assert.ErrorIs(t, render.Markdown(full{}, document(), render.Options{}), errFull)
	assert.ErrorIs(t, render.JSON(full{}, document()), errFull)
	assert.ErrorIs(t, render.CSV(full{}, document(), render.CSVOptions{}), errFull)
}

var errFull = errors.New("disk full")

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errFull }

// Over random tables: no line is wider than asked for or ends in a space, and no visible cell is lost.
func TestTextFits(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	condition := &runewidth.Condition{StrictEmojiNeutral: true}
	for range 2000 {
		doc, words := randomDocument(random)
		limit := 0
		if random.IntN(2) == 0 {
			limit = 80 + random.IntN(60)
		}
		got := text(t, doc, render.Options{Width: limit, System: units.System(random.IntN(3))})
		if limit == 0 {
			limit = 100
		}
		for line := range strings.Lines(got) {
			line = strings.TrimSuffix(line, "\n")
			require.LessOrEqual(t, condition.StringWidth(line), limit, "%s\nin\n%s", line, got)
			require.False(t, strings.HasSuffix(line, " "), "%q", line)
		}
		for _, word := range words {
			require.Contains(t, got, word)
		}
	}
}

// On a terminal narrower than a page the text keeps to it too, with numbers as engines have them.
func TestTextFitsNarrow(t *testing.T) {
	long := strings.Repeat("longword", 6)
	tab := table.Table{Name: "points " + long, Trim: "open", Notes: []string{"a note " + long}, Columns: []table.Column{
		{Key: "rpm", Title: "speed of the engine", Quantity: units.Speed}, {Key: "what", Title: "limited by " + long, Quantity: units.Number},
		{Key: "p", Title: "pressure in the manifold", Quantity: units.Pressure}, {Key: "flow", Title: "flow", Quantity: units.VolumeFlow},
	}}
	for i := range 3 {
		tab.Rows = append(tab.Rows, []table.Cell{table.Num(1e4), table.Text("restrictor, " + long), table.Num(3e5).Noted("doubt " + long),
			table.Num(1e-4 * float64(i))})
	}
	tall := tab
	tall.Layout = table.Tall
	doc := table.Document{Tables: []table.Table{tab, tall}, Cautions: []string{"mind " + long}}
	for limit := 40; limit < 80; limit++ {
		got := text(t, doc, render.Options{Width: limit})
		assert.Contains(t, got, "95493")
		for line := range strings.Lines(got) {
			require.LessOrEqual(t, runewidth.StringWidth(strings.TrimSuffix(line, "\n")), limit, "%s\nin\n%s", line, got)
		}
	}
	assert.NotEqual(t, text(t, doc, render.Options{Width: 50}), text(t, doc, render.Options{Width: 80}))
}

// randomDocument also returns words that have to be found in its text: each stands alone in a cell.
func randomDocument(random *rand.Rand) (doc table.Document, words []string) {
	pieces := []string{"boost", "a", "temperature", "漢字漢字漢字", "e\u0301", "\x1b[31m", "no\u200bspace", "", "👍",
		strings.Repeat("long", 12), "of", "the", "turbine"}
	phrase := func(most int) string {
		parts := make([]string, random.IntN(most+1))
		for i := range parts {
			parts[i] = pieces[random.IntN(len(pieces))]
		}
		return strings.Join(parts, " ")
	}
	for range 1 + random.IntN(3) {
		tab := table.Table{Name: phrase(20), Trim: phrase(3), Notes: []string{phrase(60)}, Layout: table.Layout(random.IntN(2))}
		for range 1 + random.IntN(30) {
			tab.Columns = append(tab.Columns, table.Column{
				Key: "key", Title: phrase(6), Quantity: units.Kind(random.IntN(int(units.Stiffness) + 1)),
				Digits: random.IntN(12) - 1, Detail: random.IntN(5) == 0,
			})
		}
		for range random.IntN(5) {
			row := make([]table.Cell, len(tab.Columns))
			for i, c := range tab.Columns {
				switch random.IntN(8) {
				case 0:
					row[i] = table.Missing(phrase(40))
				case 1:
					row[i] = table.Text(phrase(30))
				case 2:
					row[i] = table.List(phrase(3), phrase(3))
				case 3:
					row[i] = table.Num(random.NormFloat64() * 1e7).As(units.Pressure)
				case 4:
					word := "w" + strings.Repeat("x", random.IntN(8)) + string(rune('a'+random.IntN(26)))
					row[i] = table.Text(word)
					if !c.Detail {
						words = append(words, word)
					}
				default:
					row[i] = table.Num(random.NormFloat64() * math.Pow(10, 40*random.Float64()-20)).Noted(phrase(1))
				}
			}
			tab.Rows = append(tab.Rows, row)
		}
		doc.Tables = append(doc.Tables, tab)
	}
	doc.Cautions = []string{phrase(50)}
	return doc, words
}

// A table that is a column too wide leaves no column by itself: the last block gets company.
func TestTextLeavesNoColumnByItself(t *testing.T) {
	tab := table.Table{Name: "wide", Columns: []table.Column{column("rpm", "speed", units.Speed)}}
	row := []table.Cell{table.Num(500)}
	for range 9 {
		tab.Columns = append(tab.Columns, column("x", "figure", units.Number))
		row = append(row, table.Num(1))
	}
	tab.Rows = [][]table.Cell{row}
	for _, width := range []int{76, 80, 84} {
		var b bytes.Buffer
		require.NoError(t, render.Text(&b, table.Document{Tables: []table.Table{tab}}, render.Options{Width: width}))
		parts := strings.Split(b.String(), "continued")
		for _, part := range parts {
			assert.GreaterOrEqual(t, strings.Count(part, "figure"), 3, "width %d:\n%s", width, b.String())
		}
		assert.Equal(t, 9, strings.Count(b.String(), "figure"), "no column twice, none lost")
	}
}
