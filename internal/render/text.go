package render

import (
	"bytes"
	"io"
	"strings"

	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

const (
	defaultWidth   = 100
	narrowestWidth = 40 // two columns of the longest numbers fit in it
	indent         = 2
	gap            = 2
	closeGap       = 1
	nothing        = "Nothing to show."
	cautionLead    = "Caution:"
)

// Text writes the document's tables and cautions for a terminal or a log, no line wider than opts.Width.
//
// A wide table whose columns do not fit goes on below in a second block, which repeats the first column. Warnings are not data;
// they are left to the caller, for standard error.
func Text(w io.Writer, doc table.Document, opts Options) error {
	if opts.Width == 0 {
		opts.Width = defaultWidth
	}
	opts.Width = max(opts.Width, narrowestWidth)
	p := &page{width: opts.Width, color: opts.Color}
	for i, t := range doc.Tables {
		if i > 0 {
			p.end()
		}
		p.table(t, opts.System)
	}
	for i, caution := range doc.Cautions {
		if i == 0 && len(doc.Tables) > 0 {
			p.end()
		}
		p.paragraph(cautionLead+" ", Clean(caution), cautionStyle)
	}
	_, err := w.Write(p.buf.Bytes())
	return err
}

func (p *page) table(t table.Table, system units.System) {
	columns := visible(t, system)
	if t.Layout != table.Grid || len(t.Rows) == 0 {
		p.paragraph("", heading(t), boldStyle)
		if len(columns) > 0 {
			p.end()
		}
	}
	var notes notebook
	switch {
	case len(columns) == 0:
	case len(t.Rows) == 0:
		p.paragraph(strings.Repeat(" ", indent), nothing, noStyle)
	case t.Layout == table.Pairs:
		p.pairs(columns, t.Rows[0], system, &notes)
	case t.Layout == table.Tall:
		for i, row := range t.Rows {
			if i > 0 {
				p.end()
			}
			p.tall(columns, row, system, &notes)
		}
	case t.Layout == table.Grid:
		for i, g := range grids(t, columns, system) {
			if i > 0 {
				p.end()
			}
			name := heading(t) + ": " + Clean(g.title)
			p.paragraph("", name, boldStyle)
			p.end()
			p.blocks(name, lay(g.columns, g.rows, system, &notes, p.half()))
		}
	case t.Layout == table.Beside:
		all, rows := beside(t, columns, system)
		p.blocks(heading(t), lay(all, rows, system, &notes, p.half()))
	default:
		p.blocks(heading(t), lay(columns, t.Rows, system, &notes, p.half()))
	}
	if len(notes.notes)+len(t.Notes) > 0 {
		p.end()
	}
	for i, note := range notes.notes {
		p.paragraph("  "+superscript(i+1)+" ", Clean(note), noStyle)
	}
	for _, note := range t.Notes {
		p.paragraph("  ", Clean(note), noStyle)
	}
}

// blocks prints columns in as many blocks as the page needs.
func (p *page) blocks(name string, stacks []stack) {
	for i, block := range p.split(stacks) {
		if i > 0 {
			p.end()
			p.paragraph("", name+", continued", boldStyle)
			p.end()
		}
		p.block(block)
	}
}

// tall prints one record as lines of title, value and unit.
func (p *page) tall(columns []shown, row []table.Cell, system units.System, notes *notebook) {
	p.lines(listOf(columns, row, system, notes))
}

// pairs prints one record as tall does, side by side as far as the page is wide enough: what takes more than half of it stands first.
func (p *page) pairs(columns []shown, row []table.Cell, system units.System, notes *notebook) {
	all := listOf(columns, row, system, notes)
	var wide, narrow list
	for _, f := range all.figures {
		of := &narrow
		if titles, values := (list{figures: []listed{f}}).widths(); indent+titles+gap+values > p.half() {
			of = &wide
		}
		of.figures = append(of.figures, f)
	}
	half := (len(narrow.figures) + 1) / 2
	left, right := list{figures: narrow.figures[:half]}, list{figures: narrow.figures[half:]}
	leftTitles, leftValues := left.widths()
	rightTitles, rightValues := right.widths()
	second := indent + leftTitles + gap + leftValues + 2*gap
	if len(right.figures) == 0 || second+rightTitles+gap+rightValues > p.width {
		p.lines(all)
		return
	}
	wide.titles = max(wide.titles, leftTitles)
	p.lines(wide)
	for i := range left.figures {
		p.pad(indent)
		used := p.line(left.figures[i], leftTitles, left.numbers())
		if i < len(right.figures) {
			p.pad(second - indent - used)
			p.line(right.figures[i], rightTitles, right.numbers())
		}
		p.end()
	}
}

// A listed figure is one line of a list.
type listed struct {
	title string
	figure
}

// A list is a record whose figures stand below each other.
type list struct {
	figures []listed
	titles  int // least width of the titles
}

func listOf(columns []shown, row []table.Cell, system units.System, notes *notebook) list {
	var l list
	for _, c := range columns {
		f := c.figure(row, system, notes)
		if f.number && f.unit == "" {
			f.unit = c.unit.Name
		}
		l.figures = append(l.figures, listed{Clean(c.Title), f})
	}
	return l
}

// numbers returns the width of the widest number without its unit.
func (l list) numbers() (most int) {
	for _, f := range l.figures {
		if f.number {
			most = max(most, width(f.body))
		}
	}
	return most
}

// widths returns the width of the titles and that of the values as they stand without a break.
func (l list) widths() (titles, values int) {
	numbers := l.numbers()
	for _, f := range l.figures {
		titles = max(titles, width(f.title))
		switch {
		case f.number:
			values = max(values, numbers+width(f.suffix()))
		case f.body == missing:
			values = max(values, numbers+width(f.mark))
		default:
			values = max(values, width(f.body+f.mark))
		}
	}
	return titles, values
}

// line prints a figure without a break and returns how wide it is.
func (p *page) line(f listed, titles, numbers int) int {
	body := f.body + f.mark
	if f.number {
		body = spaces(numbers-width(f.body)) + f.body + f.suffix()
	} else if f.body == missing { // a gap among numbers stands where their last digits do
		body = spaces(numbers-width(missing)) + missing + f.mark
	}
	p.put(f.title, noStyle)
	p.pad(titles - width(f.title) + gap)
	p.put(body, toneStyle(f.tone))
	return titles + gap + width(body)
}

// lines prints a list, with breaks where a title or words need them.
func (p *page) lines(l list) {
	const narrowestTitle = 8
	widestTitle := min(40, p.half())
	titles, numbers := l.titles, l.numbers()
	for _, f := range l.figures {
		titles = max(titles, min(width(f.title), widestTitle))
	}
	for _, f := range l.figures {
		if f.number {
			titles = min(titles, max(narrowestTitle, p.width-indent-gap-numbers-width(f.suffix())))
		}
	}
	room := p.width - indent - titles - gap
	for _, f := range l.figures {
		title := wrap(f.title, titles)
		var body []string
		if f.number {
			body = []string{spaces(numbers-width(f.body)) + f.body + f.suffix()}
		} else {
			body = wrap(f.body+f.mark, room)
			if f.body == missing {
				body = []string{spaces(numbers-width(missing)) + missing + f.mark}
			}
		}
		for k := range max(len(title), len(body)) {
			p.pad(indent)
			if k < len(title) {
				p.put(title[k], noStyle)
				p.pad(titles - width(title[k]))
			} else {
				p.pad(titles)
			}
			p.pad(gap)
			if k < len(body) {
				p.put(body[k], toneStyle(f.tone))
			}
			p.end()
		}
	}
}

// A stack is a column as laid out: head and cells, with the widths that they ask for.
type stack struct {
	title  string
	unit   string
	cells  []figure
	right  bool
	suffix int // width of the slot behind the numbers, for marks and for units of their own
	least  int // width that nothing is broken below
	most   int // width in which no cell needs a second line
	width  int // as decided
}

// half returns the room that each of two columns has side by side.
func (p *page) half() int { return (p.width - indent - gap) / 2 }

// lay returns the columns as they would stand with all the room there is. No column asks for more than half, the room of one of
// two, unless a number does.
func lay(columns []shown, rows [][]table.Cell, system units.System, notes *notebook, half int) []stack {
	comfortable := min(20, half) // a column of sentences does not get narrower than this
	stacks := make([]stack, len(columns))
	for i, c := range columns {
		stacks[i] = stack{title: Clean(c.Title), unit: c.unit.Name, right: rightAligned(rows, c.index), cells: make([]figure, len(rows))}
	}
	for r, row := range rows {
		for i, c := range columns {
			stacks[i].cells[r] = c.figure(row, system, notes)
		}
	}
	for i := range stacks {
		s := &stacks[i]
		if s.right {
			for _, f := range s.cells {
				s.suffix = max(s.suffix, width(f.suffix()))
			}
		}
		longestWord := max(min(24, half-s.suffix), 1) // of words and titles: longer ones are broken
		for _, f := range s.cells {
			body := width(f.body) + s.suffix
			if !s.right {
				body += width(f.suffix())
			}
			s.most = max(s.most, body)
			if f.number {
				s.least = max(s.least, body)
			} else {
				s.least = max(s.least, min(body, max(longestIn(f.body, longestWord)+s.suffix, comfortable)))
			}
		}
		head := max(min(width(s.title), titleWidth(s.title, longestWord)), width(s.unit))
		s.least = max(s.least, head+s.suffix)
		s.most = max(s.most, s.least)
	}
	return stacks
}

// suffix is what follows a figure without being aligned with it.
func (f figure) suffix() string {
	if f.unit != "" {
		return " " + f.unit + f.mark
	}
	return f.mark
}

// rightAligned reports whether a column holds numbers, or nothing.
func rightAligned(rows [][]table.Cell, index int) bool {
	words := false
	for _, row := range rows {
		if index >= len(row) {
			continue
		}
		switch row[index].Content() {
		case table.NumberCell:
			return true
		case table.NoValue:
		default:
			words = true
		}
	}
	return !words
}

// split deals the columns out into blocks that fit the page, each beginning with the first column, and decides their widths. Columns that fit side by
// side only when they stand closer do so: one block is read more easily than two.
func (p *page) split(stacks []stack) [][]stack {
	p.gap = gap
	blocks := p.deal(stacks)
	if len(blocks) > 1 {
		p.gap = closeGap
		if closer := p.deal(stacks); len(closer) == 1 {
			blocks = closer
		} else {
			p.gap = gap
		}
	}
	p.fillLast(blocks)
	for _, block := range blocks {
		p.widen(block)
	}
	return blocks
}

// deal puts into each block the columns that there is room for.
func (p *page) deal(stacks []stack) [][]stack {
	var blocks [][]stack
	block := []stack{stacks[0]}
	used := indent + stacks[0].least
	for _, s := range stacks[1:] {
		if used+p.gap+s.least > p.width && len(block) > 1 {
			blocks = append(blocks, block)
			block = []stack{stacks[0]}
			used = indent + stacks[0].least
		}
		block = append(block, s)
		used += p.gap + s.least
	}
	return append(blocks, block)
}

// fillLast moves columns from the block before into a last one that would be nearly empty, as long as no cell is broken for it: a column by itself
// is read against nothing.
func (p *page) fillLast(blocks [][]stack) {
	const company = 3
	n := len(blocks) - 1
	if n < 1 {
		return
	}
	used := func(block []stack) int {
		sum := indent - p.gap
		for i := range block {
			sum += p.gap + block[i].most
		}
		return sum
	}
	for {
		last, before := blocks[n], blocks[n-1]
		moving := before[len(before)-1]
		// Each block begins with the table's first column.
		if len(last)-1 >= company || len(before)-1 <= len(last) || used(last)+p.gap+moving.most > p.width {
			return
		}
		blocks[n-1] = before[:len(before)-1]
		blocks[n] = append([]stack{last[0], moving}, last[1:]...)
	}
}

// widen gives the columns of a block the room that is left: those that ask for little get all of it, the rest share alike.
func (p *page) widen(block []stack) {
	total := func(level int) int {
		sum := indent - p.gap
		for i := range block {
			s := &block[i]
			s.width = max(s.least, min(s.most, level))
			sum += p.gap + s.width
		}
		return sum
	}
	level := p.width
	for level > 0 && total(level) > p.width {
		level--
	}
}

func (p *page) block(block []stack) {
	heads := make([][]string, len(block))
	deepest, units := 0, false
	for i, s := range block {
		heads[i] = wrap(s.title, titleRoom(s))
		deepest = max(deepest, len(heads[i]))
		units = units || s.unit != ""
	}
	for line := range deepest {
		p.pad(indent - p.gap)
		for i, s := range block {
			text := ""
			if above := deepest - len(heads[i]); line >= above {
				text = heads[i][line-above]
			}
			p.field(s, text, "", boldStyle)
		}
		p.end()
	}
	if units {
		p.pad(indent - p.gap)
		for _, s := range block {
			p.field(s, s.unit, "", noStyle)
		}
		p.end()
	}
	p.end()
	lines := make([][]string, len(block))
	for row := range block[0].cells {
		deepest := 1
		for i, s := range block {
			lines[i] = lines[i][:0]
			body := s.cells[row].body
			if !s.right {
				body += s.cells[row].suffix()
			}
			if room := s.width - s.suffix; width(body) <= room {
				lines[i] = append(lines[i], body)
			} else {
				lines[i] = append(lines[i], wrap(body, room)...)
			}
			deepest = max(deepest, len(lines[i]))
		}
		for k := range deepest {
			p.pad(indent - p.gap)
			for i, s := range block {
				text, suffix := "", ""
				if k < len(lines[i]) {
					text = lines[i][k]
				}
				if s.right && k == 0 {
					suffix = s.cells[row].suffix()
				}
				p.field(s, text, suffix, toneStyle(s.cells[row].tone))
			}
			p.end()
		}
	}
}

// titleRoom is the width in which a title is set: the whole column, or two lines of about equal length when one won't do.
func titleRoom(s stack) int {
	room := s.width - s.suffix
	if width(s.title) <= room {
		return room
	}
	return max(1, min(room, titleWidth(s.title, room)))
}

// field prints one cell of a column, with the gap before it.
func (p *page) field(s stack, text, suffix string, style style) {
	p.pad(p.gap)
	free := s.width - s.suffix - width(text)
	if s.right {
		p.pad(free)
		p.put(text+suffix, style)
		p.pad(s.suffix - width(suffix))
		return
	}
	p.put(text, style)
	p.pad(free + s.suffix)
}

// A page collects lines. Spaces wait until something follows them, so that no line ends in any.
type page struct {
	buf     bytes.Buffer
	width   int
	gap     int // between the columns of the table at hand
	color   bool
	pending int
}

// A style is a colour sequence's parameter.
type style string

const (
	noStyle      style = ""
	boldStyle    style = "1"
	failedStyle  style = "31"
	cautionStyle style = "33"
)

func toneStyle(t table.Tone) style {
	switch t {
	case table.Failed:
		return failedStyle
	case table.Caution:
		return cautionStyle
	}
	return noStyle
}

func (p *page) pad(n int) { p.pending += max(n, 0) }

func (p *page) put(s string, style style) {
	body := strings.TrimRight(s, " ")
	trailing := len(s) - len(body)
	if body != "" {
		for ; p.pending > 0; p.pending-- {
			p.buf.WriteByte(' ')
		}
		if p.color && style != noStyle {
			body = "\x1b[" + string(style) + "m" + body + "\x1b[0m"
		}
		p.buf.WriteString(body)
	}
	p.pad(trailing)
}

func (p *page) end() {
	p.pending = 0
	p.buf.WriteByte('\n')
}

// paragraph prints text in lines that hang below the end of its lead.
func (p *page) paragraph(lead, text string, style style) {
	hang := width(lead)
	for i, line := range wrap(text, p.width-hang) {
		if i == 0 {
			p.put(lead, style)
		} else {
			p.pad(hang)
		}
		p.put(line, style)
		p.end()
	}
}
