package static_test

import (
	"io/fs"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"drover/static"
)

// newer is what one of the engines that are served does not know, by the version in
// which the last of them learnt it. Source: MDN's browser-compat-data (an open
// dataset), from memory.
var newer = map[string]*regexp.Regexp{
	"CSS :has (Chromium 105, Firefox 121)": regexp.MustCompile(`:has\(`),
	"CSS dvh outside @supports (Chromium 108)": regexp.MustCompile(
		`(?m)^(?:[^@\n]|@media)[^\n]*\d(?:dv|sv|lv)[hw]\b`),
	"CSS color-mix (Chromium 111, Safari 16.2)":                  regexp.MustCompile(`color-mix\(`),
	"CSS container queries (Chromium 105, Safari 16)":            regexp.MustCompile(`@container|container-type`),
	"CSS @layer (Chromium 99)":                                   regexp.MustCompile(`@layer`),
	"CSS nesting (Chromium 120, Firefox 117)":                    regexp.MustCompile(`(?m)^\s*&`),
	"CSS range queries (Chromium 104, Safari 16.4)":              regexp.MustCompile(`@media[^{]*[<>]`),
	"CSS subgrid (Chromium 117)":                                 regexp.MustCompile(`subgrid`),
	"CSS individual transforms (Chromium 104)":                   regexp.MustCompile(`[;{]\s*(?:translate|rotate|scale):`),
	"CSS text-wrap (Chromium 114, Safari 17.4)":                  regexp.MustCompile(`text-wrap:`),
	"CSS overflow clip (Safari 16)":                              regexp.MustCompile(`overflow[^:;]*:\s*clip`),
	"Array.prototype.at (the value of a list; Safari 15.4 only)": regexp.MustCompile(`\.at\(`),
	"findLast (Chromium 97)":                                     regexp.MustCompile(`\.findLast(?:Index)?\(`),
	"toSorted and its like (Chromium 110, Safari 16)": regexp.MustCompile(
		`\.(?:toSorted|toReversed|toSpliced|with)\(`),
	"Object.hasOwn (Chromium 93)":                   regexp.MustCompile(`Object\.(?:hasOwn|groupBy)\(`),
	"structuredClone (Chromium 98)":                 regexp.MustCompile(`structuredClone\(`),
	"AbortSignal.timeout (Chromium 103, Safari 16)": regexp.MustCompile(`AbortSignal\.`),
	"lookbehind (Safari 16.4)":                      regexp.MustCompile(`\(\?<[=!]`),
	"Promise.withResolvers (Chromium 119)":          regexp.MustCompile(`withResolvers`),
	"static blocks (Chromium 94, Safari 16.4)":      regexp.MustCompile(`(?m)^\s*static\s*\{`),
	"inert (Chromium 102)":                          regexp.MustCompile(`\.inert\b`),
	"popover (Chromium 114)":                        regexp.MustCompile(`popover`),
}

// TestServedEngines: scripts and styles hold nothing that one of the engines which
// are served does not know.
func TestServedEngines(t *testing.T) {
	t.Parallel()
	files := os.DirFS(".")
	seen := 0
	err := fs.WalkDir(files, ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".js") && !strings.HasSuffix(path, ".css") {
			return err
		}
		seen++
		text, err := fs.ReadFile(files, path)
		if err != nil {
			return err
		}
		for what, found := range newer {
			if at := found.FindIndex(text); at != nil {
				line := strings.Count(string(text[:at[1]]), "\n") + 1
				t.Errorf("%s:%d: %s", path, line, what)
			}
		}
		return nil
	})
	if err != nil || seen < 12 {
		t.Fatalf("%d files: %v", seen, err)
	}
}

// TestNewerIsFound: the list above finds what it is there to find.
func TestNewerIsFound(t *testing.T) {
	t.Parallel()
	for _, text := range []string{
		"a:has(b) { }", "  height: 100dvh;", "@media (min-width: 1px) { a { height: 100dvh; } }",
		"color-mix(in srgb, red, blue)",
		"@media (width < 400px) { }", "list.at(-1)", "list.findLast((x) => x)", "/(?<=a)b/", "a { translate: 1px; }",
	} {
		found := false
		for _, re := range newer {
			found = found || re.MatchString(text)
		}
		if !found {
			t.Errorf("%q passes", text)
		}
	}
	const text = "@supports (height: 100dvh) { :root { --full: 100dvh; } }"
	if newer["CSS dvh outside @supports (Chromium 108)"].MatchString(text) {
		t.Error("what stands inside @supports does not pass")
	}
}

// TestOldEnginesAreTold: the two scripts that speak to an engine which is too old
// are written in words that it reads (ECMAScript 5.1).
func TestOldEnginesAreTold(t *testing.T) {
	t.Parallel()
	modern := regexp.MustCompile("=>|\\b(?:const|let|class|import|export|async|await)\\b|`|\\?\\.|\\?\\?|\\.\\.\\.")
	for _, path := range []string{"js/old.js", "js/here.js"} {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		code := regexp.MustCompile(`(?m)//.*$`).ReplaceAllString(string(text), "")
		if at := modern.FindString(code); at != "" {
			t.Errorf("%s has %q", path, at)
		}
	}
	for _, e := range static.Engines() {
		if !strings.Contains(static.EngineWords(), e.Name+" "+e.From) {
			t.Errorf("%s is not in the words", e.Name)
		}
	}
}

// TestBreakpoints: a rule asks only for the widths that the head of drover.css names,
// so that a page does not change at two places that are nearly the same.
func TestBreakpoints(t *testing.T) {
	t.Parallel()
	head, _, _ := strings.Cut(read(t, "css/drover.css"), "*/")
	_, list, found := strings.Cut(head, "Breakpoints")
	if !found {
		t.Fatal("the head of drover.css names no breakpoints")
	}
	known := map[string]bool{"820": true} // as the end of what is below the wide menu
	for _, n := range regexp.MustCompile(`\d+`).FindAllString(list, -1) {
		v, err := strconv.Atoi(n)
		if err != nil {
			t.Fatal(err)
		}
		known[n], known[strconv.Itoa(v-1)] = true, true
	}
	for _, name := range []string{"css/drover.css", "css/play.css", "css/pages.css"} {
		for _, m := range regexp.MustCompile(`(?:min|max)-width: (\d+)px\)`).FindAllStringSubmatch(read(t, name), -1) {
			if !known[m[1]] {
				t.Errorf("%s asks for a width of %s px, which is no breakpoint", name, m[1])
			}
		}
	}
}

// TestClassHasOneRule: a class alone is styled at one place in what a page loads, so that a name
// that is taken already is not given to something else: the frame of a certificate once pulled
// every sign-in card apart.
func TestClassHasOneRule(t *testing.T) {
	t.Parallel()
	alone := regexp.MustCompile(`(?m)^\.([\w-]+) \{`)
	for _, page := range [][]string{{"css/drover.css", "css/play.css"}, {"css/drover.css", "css/pages.css"}} {
		first := map[string]string{}
		for _, name := range page {
			for _, m := range alone.FindAllStringSubmatch(read(t, name), -1) {
				if first[m[1]] != "" {
					t.Errorf(".%s has a rule in %s and another in %s", m[1], first[m[1]], name)
				}
				first[m[1]] = name
			}
		}
	}
}

func read(t *testing.T, name string) string {
	t.Helper()
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}
