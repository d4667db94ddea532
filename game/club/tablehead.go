package club

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"strings"
	"time"
)

// column is a column of a table of students.
type column int

// The columns, in the order in which they stand where no head row names them.
const (
	nickname column = iota
	wording
	groups
	guardian
	agreed
	columnCount
	birth // is never kept
)

// headWords are the words by which a head row may call each column.
var headWords = map[string]column{
	"nickname": nickname, "name": nickname, "child": nickname, "student": nickname, "first name": nickname,
	"wording": wording, "explanations": wording,
	"group": groups, "groups": groups, "group(s)": groups,
	"guardian": guardian, "guardian's name": guardian, "guardian’s name": guardian, "parent": guardian, "agreed by": guardian,
	"guardian who agreed": guardian,
	"date of consent":     agreed, "consent": agreed, "consent date": agreed, "consent on": agreed, "agreed on": agreed,
	"day of consent": agreed,
	"birth date":     birth, "birthdate": birth, "date of birth": birth, "birthday": birth, "born": birth, "born on": birth,
	"dob": birth, "birth": birth, "year of birth": birth, "birth year": birth, "age": birth,
}

// columns says where each column of a table stands.
type columns struct {
	at      map[column]int
	named   bool // by a head row
	refused []string
	unread  []string
}

// heads reads a head row: one that names the nickname, or two columns of any kind. Without
// one the columns stand in their order.
func heads(cells []string) (columns, bool) {
	c, known := columns{at: map[column]int{}, named: true}, 0
	for i, cell := range cells {
		col, ok := headWords[strings.ToLower(cell)]
		switch _, twice := c.at[col]; {
		case ok && col == birth:
			c.refused = append(c.refused, cell)
			known++
		case ok && !twice:
			c.at[col] = i
			known++
		case cell != "":
			c.unread = append(c.unread, cell)
		}
	}
	if _, named := c.at[nickname]; named || known > 1 {
		return c, true
	}
	c = columns{at: map[column]int{}}
	for col := range columnCount {
		c.at[col] = int(col)
	}
	return c, false
}

// cell is what a row has in a column, empty where it has none.
func (c columns) cell(cells []string, col column) string {
	if i, ok := c.at[col]; ok && i < len(cells) {
		return cells[i]
	}
	return ""
}

// line reads a row.
func (c columns) line(row tableRow, today time.Time) Line {
	l := Line{No: row.no, Raw: row.raw, Say: row.say}
	if l.Say != "" {
		return l
	}
	l.Student.Name, l.Student.ConsentBy = c.cell(row.cells, nickname), c.cell(row.cells, guardian)
	note := func(say string) {
		if l.Say == "" {
			l.Say = say
		}
	}
	p := Problems{}
	p.text("name", l.Student.Name, "a nickname", 60)
	note(p["name"])
	var say string
	l.Student.Wording, say = wordingOf(c.cell(row.cells, wording))
	note(say)
	l.Groups, say = groupsOf(c.cell(row.cells, groups))
	note(say)
	note(l.consentOf(c.cell(row.cells, agreed), today))
	if extra := len(row.cells) - int(columnCount); !c.named && extra > 0 && strings.Join(row.cells[columnCount:], "") != "" {
		note("This line has more than five cells. Name the columns in a first row, or take the last ones out.")
	}
	return l
}

// WithoutBirth is a table without the columns of birth dates, which are never kept, and
// the names of those. A table without such columns comes back as it is.
func WithoutBirth(text string) (string, []string) {
	rows := tableRows(text)
	if len(rows) == 0 {
		return text, nil
	}
	if c, isHead := heads(rows[0].cells); !isHead || len(c.refused) == 0 {
		return text, nil
	}
	drop, names := map[int]bool{}, []string(nil)
	for i, cell := range rows[0].cells {
		if col, ok := headWords[strings.ToLower(cell)]; ok && col == birth {
			drop[i], names = true, append(names, cell)
		}
	}
	comma, lines := separator(strings.Split(text, "\n")), make([]string, len(rows))
	for i, row := range rows {
		lines[i] = joinedCells(row, drop, comma)
	}
	return strings.Join(lines, "\n"), names
}

// joinedCells is a row without some of its cells. Of a row whose cells cannot be told apart
// nothing is kept but that it was there: a birth date may be in it.
func joinedCells(row tableRow, drop map[int]bool, comma rune) string {
	if row.say != "" {
		return fmt.Sprintf("\"what stood on line %d", row.no)
	}
	var kept []string
	for i, cell := range row.cells {
		if !drop[i] {
			kept = append(kept, cell)
		}
	}
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	w.Comma = comma
	_ = w.Write(kept) // into memory
	w.Flush()
	return strings.TrimSuffix(out.String(), "\n")
}
