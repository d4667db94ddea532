package club_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"drover/game/club"
)

var tableDay = time.Date(2026, 11, 26, 12, 0, 0, 0, time.UTC)

// TestTableIsRead has a row for each way in which a table may be written: what its only
// line is read as, "name/wording/groups/guardian/day", or what is said of it.
func TestTableIsRead(t *testing.T) {
	t.Parallel()
	long := strings.Repeat("x", 300)
	for _, c := range []struct{ name, text, want string }{
		{"a name alone", "Wren", "Wren/8///-"},
		{"all five, in order", "Wren,14,Tuesday|First team,Ann,2026-11-24", "Wren/14/Tuesday+First team/Ann/2026-11-24"},
		{"semicolons", "Wren;14;Tuesday;Ann;24.11.2026", "Wren/14/Tuesday/Ann/2026-11-24"},
		{"tabs", "Wren\t8\t\tAnn\t4/1/2026", "Wren/8//Ann/2026-01-04"},
		{"a byte-order mark", "\ufeffWren;8", "Wren/8///-"},
		{"quoted", `"Wren, the small";8`, "Wren, the small/8///-"},
		{"a quoted comma", `"Smith, J",8,"Red, blue"`, "Smith, J/8/Red, blue//-"},
		{"doubled quotes", `"Kim ""Kit""",8`, `Kim "Kit"/8///-`},
		{"empty rows", "\r\n;;\r\nWren;8\r\n\r\n", "Wren/8///-"},
		{"accents", "Ünal-O'Shea;8", "Ünal-O'Shea/8///-"},
		{"right to left", "ليلى;8", "ليلى/8///-"},
		{"an emoji", "Kit 🐑", "Kit 🐑/8///-"},
		{"a formula", "=1+1;8", "=1+1/8///-"},
		{"head row, other order", "Group(s),Nickname,Guardian,Date of consent\nA|a| B ,Wren,Ann,2026-11-24",
			"Wren/8/A+B/Ann/2026-11-24"},
		{"300 letters", long, "Please keep this to 60 characters; it has 300."},
		{"no name", ";8", "Please write a nickname."},
		{"turned", "Wr\u202een", "changes the direction of writing"},
		{"a birth date as wording", "Wren;2015-03-04", "The wording is 8 or 14"},
		{"a month too many", "Wren;8;;Ann;11/24/2026", "cannot be read"},
		{"a day to come", "Wren;8;;Ann;2027-01-01", "still to come"},
		{"a guardian alone", "Wren;8;;Ann", "without the day of consent"},
		{"a day alone", "Wren;8;;;2026-11-24", "without the guardian"},
		{"six cells", "Wren;8;;;;x", "more than five cells"},
		{"a quotation mark", `Wr"en;8`, "without a partner"},
		{"a long group", "Wren;8;" + long, "A group's name"},
		{"in the club", "JUNIPER", "There is a Juniper in the club already."},
	} {
		table := club.ReadTable(c.text, []string{"Juniper"}, tableDay)
		if len(table.Lines) != 1 {
			t.Errorf("%s: %d lines, %q", c.name, len(table.Lines), table.Say)
			continue
		}
		l := table.Lines[0]
		day := "-"
		if !l.Student.ConsentOn.IsZero() {
			day = l.Student.ConsentOn.Format(time.DateOnly)
		}
		got := fmt.Sprintf("%s/%d/%s/%s/%s", l.Student.Name, l.Student.Wording, strings.Join(l.Groups, "+"), l.Student.ConsentBy, day)
		if l.Say != "" {
			got = l.Say
		}
		if l.Say == "" && got != c.want || !strings.Contains(got, c.want) {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// TestTableAsAWhole: what is said of a table of which nothing can be read.
func TestTableAsAWhole(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		" " + "\n;\n": "no line in this yet", "group,guardian\nA,Ann": "none of them is 'nickname'",
		strings.Repeat("x\n", club.MostLines+1): "This table has 301 lines",
	} {
		if got := club.ReadTable(text, nil, tableDay); !strings.Contains(got.Say, want) || len(got.Lines) > 0 {
			t.Errorf("%.20q: %q", text, got.Say)
		}
	}
}

// TestTableDoubles: a nickname that stands twice is asked about on its second line, by the
// number of the first; with the tick it is good.
func TestTableDoubles(t *testing.T) {
	t.Parallel()
	table := club.ReadTable("nickname\nWren\n\nＷren\n", nil, tableDay)
	l := table.Lines[1]
	if !l.Double || l.No != 4 || !strings.HasPrefix(l.Say, "Wren stands on line 2 too.") || l.Good(nil) || !l.Good([]int{4}) {
		t.Errorf("%+v", l)
	}
	if table.Rest(nil) != "nickname\nＷren" || table.Rest([]int{4}) != "" {
		t.Errorf("%q", table.Rest(nil))
	}
}

// TestBirthDatesAreTakenOut: no cell of a column of birth dates is kept, whatever its line
// looks like, and the column is named.
func TestBirthDatesAreTakenOut(t *testing.T) {
	t.Parallel()
	text, names := club.WithoutBirth("\ufeffnickname;Date of birth;groups\nWren;2015-03-04;\"A;B\"\n\"Kit;2014-01-02;C\n")
	if fmt.Sprint(names) != "[Date of birth]" || strings.Contains(text, "2015") || strings.Contains(text, "2014") {
		t.Errorf("%q, %v", text, names)
	}
	table := club.ReadTable(text, nil, tableDay)
	if len(table.Lines) != 2 || table.Lines[0].Say != "" || table.Lines[0].Groups[0] != "A;B" || table.Lines[1].Say == "" {
		t.Errorf("%+v", table.Lines)
	}
	if same, none := club.WithoutBirth("nickname\nWren"); same != "nickname\nWren" || none != nil {
		t.Errorf("%q, %v", same, none)
	}
}

// TestTableText: UTF-8, UTF-16 and Windows-1252 are read, and what is no text says so.
func TestTableText(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct{ file, text, note, say string }{
		"UTF-8":        {"Ünal", "Ünal", "", ""},
		"Windows-1252": {"\xdcnal", "Ünal", "Windows-1252", ""},
		"UTF-16":       {"\xff\xfeW\x00r\x00", "Wr", "", ""},
		"a zip file":   {"PK\x03\x04xx", "", "", "no table in plain text"},
		"binary":       {"a\x00b", "", "", "no table in plain text"},
	} {
		text, note, say := club.TableText([]byte(c.file))
		if text != c.text || !strings.Contains(note, c.note) || !strings.Contains(say, c.say) || (say == "") != (c.say == "") {
			t.Errorf("%s: %q, %q, %q", name, text, note, say)
		}
	}
}

// TestEveryLineIsAddedOrLeft: of any table, every line is either good or stands in the
// rest, none twice; and the rest, read again, has just the lines that were left.
func TestEveryLineIsAddedOrLeft(t *testing.T) {
	t.Parallel()
	parts := []string{"Wren", "Kit", "8", "14", "9", ";", ";", ";", "\n", "\n", "\"", "=1+1", "Ann", "24.11.2026", " ", "|", "A", "ü"}
	rnd := rand.New(rand.NewPCG(1, 2)) //nolint:gosec // a test that repeats
	for range 5000 {
		text := ""
		if rnd.IntN(2) == 0 {
			text = "nickname;wording;groups;guardian;consent\n"
		}
		for range rnd.IntN(40) {
			text += parts[rnd.IntN(len(parts))]
		}
		table := club.ReadTable(text, []string{"Kit"}, tableDay)
		var same []int
		for _, l := range table.Lines {
			if rnd.IntN(2) == 0 {
				same = append(same, l.No)
			}
		}
		good, _, wrong := table.Tally(same)
		full := 0
		for _, line := range strings.Split(text, "\n") {
			if strings.Trim(line, "; \"") != "" {
				full++
			}
		}
		if table.Head != "" && full > 0 {
			full--
		}
		if table.Say == "" && (good+wrong != full || len(table.Lines) != full) {
			t.Fatalf("%q: %d and %d of %d", text, good, wrong, full)
		}
		left := 0
		if rest := table.Rest(same); rest != "" {
			left = len(strings.Split(rest, "\n"))
			if table.Head != "" {
				left--
			}
		}
		if left != wrong {
			t.Fatalf("%q: %d lines are left, %d have problems", text, left, wrong)
		}
	}
}

// TestBoxOpensToItsSession: what is locked up in a session's box opens with its token
// alone, and for its own kind and subject alone.
func TestBoxOpensToItsSession(t *testing.T) {
	t.Parallel()
	token := club.NewSecret(3)
	box, err := token.Box()
	if err != nil {
		t.Fatal(err)
	}
	locked, err := box.Lock(3, "sheet", 7, []byte("lamp otter"))
	if err != nil || strings.Contains(string(locked), "otter") {
		t.Fatal(err)
	}
	if plain, err := token.Unlock("sheet", 7, locked); err != nil || string(plain) != "lamp otter" {
		t.Errorf("%q, %v", plain, err)
	}
	for name, open := range map[string]func() ([]byte, error){
		"another token":   func() ([]byte, error) { return club.NewSecret(3).Unlock("sheet", 7, locked) },
		"another kind":    func() ([]byte, error) { return token.Unlock("card", 7, locked) },
		"another subject": func() ([]byte, error) { return token.Unlock("sheet", 8, locked) },
		"no token":        func() ([]byte, error) { return club.Secret("").Unlock("sheet", 7, locked) },
	} {
		if plain, err := open(); err == nil {
			t.Errorf("%s opens it: %q", name, plain)
		}
	}
}
