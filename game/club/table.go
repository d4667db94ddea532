package club

import (
	"encoding/csv"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"drover/game"
	"drover/game/ending"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
)

// MostLines is how many students one table may have.
const MostLines = 300

// Table is a table of students as it was read.
type Table struct {
	Lines  []Line
	Head   string   // the head row, as it was typed; empty: there is none
	Unread []string // columns that nobody knows, by name
	Say    string   // why nothing of the table can be read, empty: it can
}

// Line is one student of a table, as the line would be read.
type Line struct {
	No      int    // of the text, from 1
	Raw     string // as it was typed
	Student NewStudent
	Groups  []string // by name
	Say     string   // what is wrong, empty: nothing
	Double  bool     // nothing is wrong but that the nickname is there already
}

// Waits says whether the child of a line has no consent yet.
func (l Line) Waits() bool { return l.Student.ConsentBy == "" }

// Good says whether a line can be added; same are the lines whose double nickname is
// meant.
func (l Line) Good(same []int) bool {
	if !l.Double {
		return l.Say == ""
	}
	for _, no := range same {
		if no == l.No {
			return true
		}
	}
	return false
}

// TableText reads the bytes of a file as text. What is no text has a sentence that says
// so; note says how an older file was read.
func TableText(file []byte) (text, note, say string) {
	const no = "This file is no table in plain text. Save it as CSV in your spreadsheet, or paste the cells."
	with := func(e encoding.Encoding, note string) (string, string, string) {
		out, err := e.NewDecoder().Bytes(file)
		if err != nil || strings.ContainsRune(string(out), 0) {
			return "", "", no
		}
		return string(out), note, ""
	}
	switch {
	case len(file) > 1 && (file[0] == 0xff && file[1] == 0xfe || file[0] == 0xfe && file[1] == 0xff):
		return with(unicode.UTF16(unicode.LittleEndian, unicode.ExpectBOM), "")
	case strings.ContainsRune(string(file), 0), strings.HasPrefix(string(file), "PK\x03\x04"):
		return "", "", no
	case utf8.Valid(file):
		return string(file), "", ""
	}
	return with(charmap.Windows1252,
		"The file is not in UTF-8, so it was read as Windows-1252. Look at the accents before you add anybody.")
}

// ReadTable reads a table of students. names are those that the club has already.
func ReadTable(text string, names []string, today time.Time) Table {
	rows := tableRows(text)
	if len(rows) == 0 {
		return Table{Say: "There is no line in this yet. Paste the table, or choose a file."}
	}
	var t Table
	cols, isHead := heads(rows[0].cells)
	if isHead {
		t.Head, rows = rows[0].raw, rows[1:]
		t.Unread = cols.unread
	}
	switch _, named := cols.at[nickname]; {
	case isHead && !named:
		t.Say = "The first row names the columns, and none of them is 'nickname'. Name the column with the nicknames so."
		return t
	case len(rows) > MostLines:
		t.Say = fmt.Sprintf("This table has %d lines. Add %d at a time, or fewer.", len(rows), MostLines)
		return t
	}
	seen := map[string]string{}
	for _, name := range names {
		seen[SameName(name)] = "There is a " + name + " in the club already."
	}
	for _, row := range rows {
		l := cols.line(row, today)
		l.double(seen)
		t.Lines = append(t.Lines, l)
	}
	return t
}

// double asks about a nickname that the club has, or that a line before has.
func (l *Line) double(seen map[string]string) {
	key := SameName(l.Student.Name)
	if key == "" {
		return
	}
	if say := seen[key]; say == "" {
		seen[key] = fmt.Sprintf("%s stands on line %d too.", l.Student.Name, l.No)
	} else if l.Say == "" {
		l.Say, l.Double = say+" Is this another child? Write something more that tells the two apart, or tick the box.", true
	}
}

// tableRow is a line that is not empty.
type tableRow struct {
	no    int
	raw   string
	cells []string
	say   string
}

// tableRows splits a text into its lines and cells. A cell has no line breaks, so a
// quotation mark that has no partner spoils only its own line.
func tableRows(text string) []tableRow {
	text = strings.TrimPrefix(text, "\ufeff")
	lines := strings.Split(strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(text), "\n")
	comma := separator(lines)
	var rows []tableRow
	for i, raw := range lines {
		if strings.TrimFunc(raw, func(r rune) bool { return strings.ContainsRune(";,\"", r) || spaced(r) }) == "" {
			continue
		}
		row := tableRow{no: i + 1, raw: raw}
		in := csv.NewReader(strings.NewReader(raw))
		in.Comma = comma
		cells, err := in.Read()
		if err != nil {
			cells = []string{raw}
			row.say = "There is a quotation mark without a partner in this line. Take it out, or write it twice."
		}
		for _, c := range cells {
			row.cells = append(row.cells, Tidy(c))
		}
		rows = append(rows, row)
	}
	return rows
}

// separator is what stands between the cells of the first line that has more than one:
// a tab, a semicolon or a comma.
func separator(lines []string) rune {
	for _, line := range lines {
		for _, c := range "\t;," {
			quoted := false
			for _, r := range line {
				if r == '"' {
					quoted = !quoted
				} else if r == c && !quoted {
					return c
				}
			}
		}
	}
	return ','
}

// wordingOf reads the age for which sentences are worded; empty means eight.
func wordingOf(cell string) (int, string) {
	switch cell {
	case "", "8":
		return ending.Eight, ""
	case "14":
		return ending.Fourteen, ""
	}
	return ending.Eight, "The wording is 8 or 14. Birth dates and ages are not kept."
}

// dayOf reads a day: year first, or day first.
func dayOf(cell string) (time.Time, string) {
	for _, layout := range []string{time.DateOnly, "2.1.2006", "2/1/2006"} {
		if day, err := time.Parse(layout, cell); err == nil {
			return day, ""
		}
	}
	return time.Time{}, "The day of consent cannot be read. Write it as 2026-11-24 or 24.11.2026, the day first."
}

// groupsOf reads the names of groups.
func groupsOf(cell string) (names []string, say string) {
	seen := map[string]bool{}
	for _, part := range strings.Split(cell, "|") {
		if part = Tidy(part); part == "" || seen[strings.ToLower(part)] {
			continue
		}
		seen[strings.ToLower(part)] = true
		if _, err := ValidateGroup(part); err != nil {
			return nil, "A group's name cannot be kept. Use 60 characters or fewer, without hidden signs."
		}
		names = append(names, part)
	}
	return names, ""
}

// consentOf checks guardian and day, which stand together or not at all.
func (l *Line) consentOf(day string, today time.Time) string {
	switch {
	case l.Student.ConsentBy == "" && day == "":
		return ""
	case l.Student.ConsentBy == "":
		return "There is a day of consent without the guardian who agreed. Write the name too, or neither."
	case day == "":
		return "There is a guardian without the day of consent. Write the day too, or leave both out until the form is there."
	}
	on, say := dayOf(day)
	if say != "" {
		return say
	}
	l.Student.ConsentOn, l.Student.Consent = on, true
	for _, say := range ConsentProblems(&l.Student, today) {
		return say
	}
	return ""
}

// Rest is the table that is left once the good lines have been added, with its head.
func (t Table) Rest(same []int) string {
	var left []string
	for _, l := range t.Lines {
		if !l.Good(same) {
			left = append(left, l.Raw)
		}
	}
	if len(left) > 0 && t.Head != "" {
		left = append([]string{t.Head}, left...)
	}
	return strings.Join(left, "\n")
}

// Tally says how many lines would be added, how many of these wait for consent, and how
// many have a problem.
func (t Table) Tally(same []int) (good, waiting, wrong int) {
	for _, l := range t.Lines {
		switch {
		case !l.Good(same):
			wrong++
		case l.Waits():
			good, waiting = good+1, waiting+1
		default:
			good++
		}
	}
	return good, waiting, wrong
}

// Many is a table of students that is being added, and what has come of it.
type Many struct {
	Text string
	Note string // how a file was read
	// The columns that were taken out, since they are never kept, by name.
	Refused []string
	Signed  bool // the club keeps the signed forms of this version
	// Of what was added just now; 0 where nothing was.
	Added, Waiting int
}

// Unsigned is the question where a table has consents and nobody says that the signed
// forms are kept.
func Unsigned() error {
	return Problems{"signed": "The table names guardians who agreed. Tick this if the club keeps their signed forms; " +
		"else take the names out, and the children wait for consent."}.Err()
}

// NotAgreed is the answer where a child may not have a card yet.
func NotAgreed(name string) error {
	return game.Fail(game.Conflict, name+" waits for consent, so there is no card yet. "+
		"Note the consent on the page of the student first.")
}
