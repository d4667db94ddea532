package main

import (
	"strings"
	"testing"

	"drover/game/ending"
	"drover/web/site"
)

// TestGuide: a coach prints the guide of every ending, on one sheet and for bishop and
// knight on two at most; a child and a guardian come to it from their own first page.
func TestGuide(t *testing.T) {
	links := startDemo(t)
	b := newTab(t, 1280, 900)
	b.open(links["Coach Ilse"])
	b.at("/since")
	base := must[string](b, "location.origin")
	for _, g := range ending.Guides() {
		path := site.GuidePath(g.Code, g.Hold)
		most := 1
		if g.Code == "KBNK" {
			most = 2
		}
		for _, wording := range []string{"", "?for=14"} {
			b.media("screen")
			b.open(base + path + wording)
			if n, size := b.onPaper(); n < 1 || n > most || size != upright {
				b.Errorf("%s takes %d sheets of %s", path+wording, n, size)
			}
			b.plainPaper(path)
			b.prints(path, []string{g.Name, "What to see", "Often:"}, "For about eight", "Print")
		}
	}
	t.Run("from the shelf", func(t *testing.T) {
		b.T = t
		b.media("screen")
		b.open(base + "/guide/KRK")
		b.click(`.against a[href*="kind-checks"]`)
		b.at("/drills")
		b.sees("Rook: checks cost")
	})
	t.Run("child", func(t *testing.T) { childReadsGuide(t, links["Juniper, a student"]) })
	t.Run("guardian", func(t *testing.T) { guardianReadsGuide(t, links["Hanne, Juniper's guardian"]) })
}

// childReadsGuide comes from today at the width of a phone.
func childReadsGuide(t *testing.T, link string) {
	b := newTab(t, 390, 844)
	b.open(link)
	b.at("/today")
	if wide := must[int](b, "document.documentElement.scrollWidth - innerWidth"); wide > 0 {
		t.Errorf("today overflows by %d", wide)
	}
	b.click(`.how[href="/guide/KRK"]`)
	b.at("/guide/KRK")
	b.sees("What to see")
	if wide := must[int](b, "document.documentElement.scrollWidth - innerWidth"); wide > 0 {
		t.Errorf("the guide overflows by %d", wide)
	}
	if got := must[string](b, `[...document.querySelectorAll('main a')].map((a) => a.getAttribute('href')).join(' ')`); strings.Contains(got, "/drills") || strings.Contains(got, "for=") {
		t.Errorf("a child is led to %q", got)
	}
	small := must[[]float64](b, `[...document.querySelectorAll('.method .board')].map((p) => p.getBoundingClientRect().width)`)
	for _, width := range small {
		if width < 200 {
			t.Errorf("a whole board is %.0f px wide", width)
		}
	}
	if len(small) != 6 {
		t.Errorf("%d boards", len(small))
	}
}

// guardianReadsGuide comes from the report, and may read both wordings.
func guardianReadsGuide(t *testing.T, link string) {
	b := newTab(t, 390, 844)
	b.open(link)
	b.at("/report")
	b.click(`.how[href="/guide/KQK"]`)
	b.at("/guide/KQK")
	b.click(`.wordings a[href="/guide/KQK?for=14"]`)
	b.wait(`location.search === '?for=14'`)
	b.sees("the inner 36 squares")
}
