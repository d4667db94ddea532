package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// script runs lines of bash after deploy/common.sh, in the repository's folder.
func script(t *testing.T, lines string, env ...string) string {
	t.Helper()
	cmd := exec.Command("bash", "-c", "set -eu; . deploy/common.sh\n"+lines)
	cmd.Dir, cmd.Env = "../..", append(os.Environ(), env...)
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Logf("it ended with %v", err)
	}
	return string(out)
}

// TestScriptsBuildWithTheToolchainNamed: also where the environment pins
// another one.
func TestScriptsBuildWithTheToolchainNamed(t *testing.T) {
	t.Parallel()
	mod, err := os.ReadFile("../../go.mod")
	if err != nil {
		t.Fatal(err)
	}
	named := regexp.MustCompile(`(?m)^toolchain (go[0-9.]+)$`).FindStringSubmatch(string(mod))
	if named == nil {
		t.Fatal("go.mod names no toolchain")
	}
	if got := script(t, "go env GOTOOLCHAIN", "GOTOOLCHAIN=local"); strings.TrimSpace(got) != "auto" {
		t.Errorf("the scripts run with the toolchain %q", got)
	}
	for _, file := range []string{"tools.mod", "mutate.mod"} {
		tools, err := os.ReadFile("../../deploy/" + file)
		if err != nil || !strings.Contains(string(tools), "\ntoolchain "+named[1]+"\n") {
			t.Errorf("what %s names is not built with %s: %v", file, named[1], err)
		}
	}
}

// TestKnownHolesNameWhatToRaise: a hole that the code can reach fails the
// search, with each module to raise named once.
func TestKnownHolesNameWhatToRaise(t *testing.T) {
	t.Parallel()
	said := filepath.Join(t.TempDir(), "said")
	const text = `Vulnerability #1: GO-1
  More info: https://pkg.go.dev/vuln/GO-1
  Standard library
    Found in: net/http@go1.26.8
    Fixed in: net/http@go1.26.9
Vulnerability #2: GO-2
  Standard library
    Found in: net/textproto@go1.26.8
    Fixed in: net/textproto@go1.26.9
Vulnerability #3: GO-3
  Module: golang.org/x/text
    Found in: golang.org/x/text@v0.3.5
    Fixed in: golang.org/x/text@v0.3.7
Vulnerability #4: GO-4
  Module: example.org/left
    Found in: example.org/left@v1.0.0
    Fixed in: N/A
`
	if err := os.WriteFile(said, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	// go is only asked for the list here; the finding is the text above.
	const lines = `go() { echo /nowhere; }; finds() { cat "$SAID"; return 3; }; holes . finds; echo "it went on"`
	got := script(t, lines, "SAID="+said)
	const want = "There are known holes in what Drover is built from: " +
		"raise the toolchain in go.mod from go1.26.8 to go1.26.9 or later; " +
		"raise golang.org/x/text from v0.3.5 to v0.3.7 or later; " +
		"raise example.org/left from v1.0.0 (not mended yet: do without it)." +
		" Raise each and run this again.\n"
	if !strings.HasSuffix(got, want) || !strings.Contains(got, "Vulnerability #4") {
		t.Errorf("it said %q, want %q", got, want)
	}
	got = script(t, `go() { echo /nowhere; }; finds() { echo "no such list"; return 1; }
		holes . finds; echo "it went on"`)
	if !strings.HasSuffix(got, "no such list\nThe search for known holes did not work; what it said stands above.\n") {
		t.Errorf("it said %q", got)
	}
	got = script(t, `go() { echo /nowhere; }; holes . true; echo "it went on"`)
	if !strings.HasSuffix(got, "it went on\n") {
		t.Errorf("it said %q", got)
	}
}

// TestBrowsersAreAskedForAlone: only deploy/test --browsers installs the other
// engines, each where it is missing, and the integration runs it too.
func TestBrowsersAreAskedForAlone(t *testing.T) {
	t.Parallel()
	got := script(t, `packages() { echo "Installing $*"; }; PATH=/nowhere; need_engines`)
	if want := "Installing firefox-esr\nInstalling webkit2gtk-driver\nInstalling xvfb\n"; got != want {
		t.Errorf("it said %q, want %q", got, want)
	}
	got = script(t, `packages() { echo "Installing $*"; }; firefox-esr() { :; }; Xvfb() { :; }
		PATH=/nowhere; need_engines`)
	if want := "Installing webkit2gtk-driver\n"; got != want {
		t.Errorf("with two of them there it said %q, want %q", got, want)
	}
	before, asked, found := strings.Cut(read(t, "deploy/test"), "if [ \"${1:-}\" = --browsers ]; then\n")
	asked, after, ended := strings.Cut(asked, "\nfi\n")
	if !found || !ended || strings.Contains(before+after, "need_engines") || !strings.Contains(asked, "need_engines") {
		t.Error("deploy/test needs the other engines where nobody asks for them, or not where somebody does")
	}
	if run := read(t, ".ci/run"); !strings.Contains(run, "./deploy/test\nexec ./deploy/test --browsers\n") {
		t.Errorf(".ci/run is %q", run)
	}
}
