package main

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"syscall"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// startDemo runs `drover demo` and gives the ways in that it prints.
func startDemo(t *testing.T, settings ...string) (links map[string]string) {
	t.Helper()
	cmd := exec.Command(os.Args[0], "demo")
	cmd.Env = append(append(os.Environ(), "DROVER_TEST_RUN=1"), settings...)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = cmd.Process.Signal(syscall.SIGTERM)
		_ = cmd.Wait()
	})
	links = map[string]string{}
	for lines := bufio.NewScanner(out); lines.Scan(); {
		if who, link, ok := strings.Cut(strings.TrimSpace(lines.Text()), "http"); ok && strings.Contains(link, "/open#") {
			links[strings.TrimSpace(who)] = "http" + link
		}
		if strings.Contains(lines.Text(), "Ctrl-C") {
			return links
		}
	}
	t.Fatal("the demo has ended before it began")
	return nil
}

// media draws the page for a screen or for paper, where the system is dark.
func (b *tab) media(kind string) {
	b.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	dark := []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: "dark"}}
	media := emulation.SetEmulatedMediaParams{Media: kind, Features: dark}
	if _, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, media); err != nil {
		b.Fatal(err)
	}
}

// onPaper lets a page be as it is printed where the system is dark, and gives the
// size and number of its sheets.
func (b *tab) onPaper() (sheets int, size string) {
	b.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	b.media("print")
	pdf, err := b.page.sheets(ctx)
	if err != nil {
		b.Fatal(err)
	}
	for _, box := range regexp.MustCompile(`/MediaBox \[0 0 ([0-9]+)[0-9.]* ([0-9]+)`).FindAllSubmatch(pdf, -1) {
		sheets, size = sheets+1, fmt.Sprintf("%sx%s", box[1], box[2])
	}
	return sheets, size
}

const upright, lying = "594x841", "841x594"

// plainPaper holds what is true of every printed page.
func (b *tab) plainPaper(name string) {
	b.Helper()
	shown := must[string](b, `[...document.querySelectorAll(
		'header.head, button, .btn, .go, .quiet, select, main input, .pgn')].filter((part) => part.getClientRects().length)
			.map((part) => part.className || part.name || part.tagName).join(' ')`)
	if shown != "" {
		b.Errorf("%s prints %s", name, shown)
	}
	colours := must[string](b,
		`['backgroundColor', 'color'].map((name) => getComputedStyle(document.body)[name]).join(' ')`)
	if colours != "rgb(255, 255, 255) rgb(42, 32, 56)" {
		b.Errorf("%s is printed in %s", name, colours)
	}
	if lines := must[int](b, `[...document.querySelectorAll('a')]
		.filter((a) => getComputedStyle(a).textDecorationLine !== 'none').length`); lines > 0 {
		b.Errorf("%s prints %d links as links", name, lines)
	}
	cut := must[string](b, `[...document.querySelectorAll('main, main *')]
		.filter((part) => part.getClientRects().length && !part.closest('svg, .unseen, .board')
		&& getComputedStyle(part).overflowX !== 'visible' && part.scrollWidth > part.clientWidth + 1)
			.map((part) => part.className).join(' ')`)
	if cut != "" {
		b.Errorf("%s cuts %s", name, cut)
	}
}

// prints holds that texts stand on a printed page, and others do not.
func (b *tab) prints(name string, texts []string, not ...string) {
	b.Helper()
	all := must[string](b, "document.body.innerText.replace(/\\s+/g, ' ')")
	for _, text := range texts {
		if !strings.Contains(all, text) {
			b.Errorf("%s does not print %q", name, text)
		}
	}
	for _, text := range not {
		if strings.Contains(all, text) {
			b.Errorf("%s prints %q", name, text)
		}
	}
}

// TestPrintedPages: what people print says what it is about, on few sheets, without
// what only a screen has a use for.
func TestPrintedPages(t *testing.T) {
	links := startDemo(t)
	b := newTab(t, 1280, 900)
	b.open(links["Coach Ilse"])
	b.at("/since")
	base := must[string](b, "location.origin")
	b.open(base + "/stages")
	t.Run("stage view", func(t *testing.T) { b.T = t; b.stagesOnPaper() })
	t.Run("review", func(t *testing.T) { b.T = t; b.reviewOnPaper(base) })
	t.Run("card and link", func(t *testing.T) { b.T = t; b.secretsOnPaper(base) })
	child := newTab(t, 390, 844)
	child.open(links["Juniper, a student"])
	child.at("/today")
	child.sees("Your aim: ")
	t.Run("certificate", func(t *testing.T) { child.T = t; child.certificateOnPaper() })
	family := newTab(t, 390, 844)
	family.open(links["Hanne, Juniper's guardian"])
	family.at("/report")
	base = must[string](family, "location.origin")
	family.prints("/report", []string{"one thing helps Juniper most now: to "})
	b.T = t
	b.media("screen")
	b.longRemark(base)
	for path, text := range map[string]string{"/report": "How you can help", "/tell": "Call the emergency number"} {
		family.media("screen")
		family.open(base + path)
		if n, size := family.onPaper(); n != 1 || size != upright {
			t.Errorf("%s takes %d sheets of %s", path, n, size)
		}
		family.plainPaper(path)
		family.prints(path, []string{text})
	}
}

// longRemark signs a report on Juniper's term with the longest remark there can be, which the
// guardians read on the weekly report, too.
func (b *tab) longRemark(base string) {
	b.Helper()
	b.open(base + "/students")
	b.open(must[string](b, `[...document.querySelectorAll('.roster-table tbody a')].find((a) => a.textContent === 'Juniper').href`) + "/terms")
	b.fill(map[string]string{"title": "Autumn 2026", "from": "2026-09-01", "to": "2026-11-26"})
	b.click("form .go")
	b.wait(`document.querySelector('[name="remark"]')`)
	must[bool](b, fmt.Sprintf(`(document.querySelector('[name="remark"]').value = %q, true)`, strings.Repeat("Juniper looks before each move. ", 25)[:800]))
	b.click(`button[value="sign"]`)
	b.sees("Read and signed by Coach Ilse")
}

// certificateOnPaper: one sheet, lying, with a line to sign.
func (b *tab) certificateOnPaper() {
	b.Helper()
	b.click(`a[href="/certificate/KQK"]`)
	b.at("/certificate/KQK")
	if n, size := b.onPaper(); n != 1 || size != lying {
		b.Errorf("a certificate takes %d sheets of %s", n, size)
	}
	b.plainPaper("a certificate")
	b.prints("a certificate", []string{"Ferry Lane chess club", "Juniper", "has mastered", "Mate with king and queen",
		"however well he defends", "within 15 moves, and asked again", "for Ferry Lane chess club"}, "One page to print", "Today")
	b.media("screen")
}

// stagesOnPaper: every ending with its name, the finding, and who is stuck.
func (b *tab) stagesOnPaper() {
	b.Helper()
	texts := []string{"Queen", "Rook", "Two bishops", "Bishop and knight", "First thing to teach", "leave the king at home", "Draws held"}
	texts = append(texts, must[[]string](b, `[...document.querySelectorAll('.said li > span, h1')]
		.map((part) => part.innerText.replace(/\s+/g, ' ').trim())`)...)
	if len(texts) < 10 {
		b.Fatalf("the demo has nobody stuck: %q", texts)
	}
	if n, size := b.onPaper(); n < 1 || n > 2 || size != lying {
		b.Errorf("the stage view takes %d sheets of %s", n, size)
	}
	b.plainPaper("the stage view")
	b.prints("the stage view", texts)
	if got := must[string](b, `[getComputedStyle(document.querySelector('.stages thead')).display,
		...new Set([...document.querySelectorAll('.stages tbody tr')]
		.map((row) => getComputedStyle(row).breakInside))].join(' ')`); got != "table-header-group avoid" {
		b.Errorf("head and rows of the stage view are %q", got)
	}
	if got := must[int](b, `[...document.querySelectorAll('.stage-cards')]
		.filter((part) => part.getClientRects().length).length`); got > 0 {
		b.Error("the stage view prints the cards of one ending beside the table")
	}
}

// reviewOnPaper: the longest review of the demo's student.
func (b *tab) reviewOnPaper(base string) {
	b.Helper()
	b.open(base + "/students")
	b.open(must[string](b, `[...document.querySelectorAll('.roster-table tbody a')].find((a) => a.textContent === 'Juniper').href`))
	b.studentOnPaper()
	b.open(must[string](b, `[...document.querySelectorAll('.game-rows tr')]
		.find((row) => /Bishop and knight.*over par/s.test(row.innerText)).querySelector('a').href`))
	title := must[string](b, `document.querySelector('h1').innerText`)
	if n, size := b.onPaper(); n < 1 || n > 2 || size != upright {
		b.Errorf("the review takes %d sheets of %s", n, size)
	}
	b.plainPaper("the review")
	b.prints("the review", []string{title, "What went well", "to look at", "Moves to mate: right is nearer"},
		"arrow keys", "PGN", "Previous")
	rows := must[[]float64](b, `['.board', '.review-look', '.track tr[data-ply]']
		.map((part) => [...document.querySelectorAll(part)].filter((p) => p.getClientRects().length).length)`)
	if rows[0] != 1 || rows[1] < 1 || rows[2] < 20 {
		b.Errorf("the review prints %v boards, cards and moves", rows)
	}
}

// studentOnPaper: a student's page, with the games of each week in words.
func (b *tab) studentOnPaper() {
	b.Helper()
	if n, size := b.onPaper(); n < 1 || n > 4 || size != upright {
		b.Errorf("a student's page takes %d sheets of %s", n, size)
	}
	b.plainPaper("a student's page")
	b.prints("a student's page", []string{"Juniper", "First thing to teach", "What comes next", "What is set", "The last eight weeks",
		"1 of 1", "Done alone: "}, "Withdraw", "Set this drill", "Make a new card", "will stop working")
	b.media("screen")
	number := must[string](b, `document.querySelector('.week-all a').innerText.match(/\d+ of (\d+)/)[1]`)
	b.click(".week-all a")
	b.sees(": " + number + " game")
	b.sees("A stage is clean when")
	if got := must[string](b, "String(document.querySelectorAll('.game-rows tbody tr').length)"); got != number {
		b.Errorf("%s games stand behind the number %s", got, number)
	}
	b.click(".games-head a")
	b.sees("Done alone: ")
}

// cardsHold holds that nothing of a printed card stands outside it, and that its words are on one
// line over the whole width.
func (b *tab) cardsHold() {
	b.Helper()
	out := must[string](b, `[...document.querySelectorAll('.press')].flatMap((card) => {
		const edge = card.getBoundingClientRect(), words = card.querySelector('.press-words').getBoundingClientRect();
		return [...card.querySelectorAll('*')].filter((part) => { const r = part.getBoundingClientRect();
			return r.left < edge.left - 1 || r.right > edge.right + 1 || r.top < edge.top - 1 || r.bottom > edge.bottom + 1; })
			.map((part) => part.className.baseVal ?? (part.className || part.localName))
			.concat(words.height > 60 || words.width < edge.width * .8 ? ['words of ' + words.width + ' x ' + words.height] : []);
	}).join(', ')`)
	if n := must[int](b, `document.querySelectorAll('.press').length`); out != "" || n == 0 {
		b.Errorf("%d cards do not hold %s", n, out)
	}
}

// secretsOnPaper: a new card and a new private link, each whole on one sheet.
func (b *tab) secretsOnPaper(base string) {
	b.Helper()
	b.open(base + "/students")
	student := must[string](b, `[...document.querySelectorAll('.roster-table tbody a')].find((a) => a.textContent === 'Dot').href`)
	b.media("screen")
	b.open(student)
	b.click(`form[action$="/card"] button`)
	b.wait(`document.querySelector('.press-words')`)
	words := must[string](b, `document.querySelector('.press-words').innerText`)
	if n, size := b.onPaper(); n != 1 || size != upright {
		b.Errorf("a card takes %d sheets of %s", n, size)
	}
	b.plainPaper("a card")
	b.cardsHold()
	b.prints("a card", []string{"Dot", words}, "Print it now")
	b.media("screen")
	b.open(student)
	must[bool](b, `(document.querySelector('form[action$="/guardian"] [name="name"]').value = 'Ada',
		document.querySelector('form[action$="/guardian"]').requestSubmit(), true)`)
	b.wait(`document.querySelector('#url')`)
	link := must[string](b, `document.querySelector('#url').value`)
	if n, size := b.onPaper(); n != 1 || size != upright {
		b.Errorf("a private link takes %d sheets of %s", n, size)
	}
	b.plainPaper("a private link")
	b.prints("a private link", []string{link}, "Copy the link")
}
