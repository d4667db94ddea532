package main

import (
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// fronts are the https servers for which deploy has settings: what of these is the
// machine's own, and how the server is started with the rest.
var fronts = []struct {
	name, program, settings string
	own                     func(f front) *strings.Replacer
	whole                   func(f front, settings string) string
	args                    func(file string) []string
}{
	{
		"Caddy", "caddy", "Caddyfile",
		func(f front) *strings.Replacer {
			return strings.NewReplacer("club.example {", "https://"+f.secure+" {\n\ttls "+f.cert+" "+f.key,
				"127.0.0.1:8080", f.behind)
		},
		func(_ front, settings string) string {
			return strings.Replace(settings, "\n{\n", "\n{\n\tadmin off\n\tauto_https off\n", 1)
		},
		func(file string) []string { return []string{"run", "--adapter", "caddyfile", "--config", file} },
	},
	{
		"nginx", "/usr/sbin/nginx", "nginx.conf",
		func(f front) *strings.Replacer {
			return strings.NewReplacer("listen 80;", "listen "+f.plain+";", "listen 443 ssl;", "listen "+f.secure+" ssl;",
				"/etc/letsencrypt/live/club.example/fullchain.pem", f.cert, "/etc/letsencrypt/live/club.example/privkey.pem", f.key,
				"https://club.example", "https://"+f.secure, "server_name club.example", "server_name 127.0.0.1",
				"127.0.0.1:8080", f.behind, "/var/log/nginx/access.log", filepath.Join(f.dir, "access"),
				"/var/log/nginx/error.log", filepath.Join(f.dir, "errors"))
		},
		nginxWhole,
		func(file string) []string { return []string{"-c", file} },
	},
}

// front is where a test's https server finds and puts its things.
type front struct{ dir, cert, key, secure, plain, behind string }

// nginxWhole puts the settings of a site into those of a whole nginx.
func nginxWhole(f front, settings string) string {
	head := ""
	if os.Geteuid() == 0 {
		head = "user root;\n"
	}
	for _, kind := range []string{"client_body", "proxy", "fastcgi", "uwsgi", "scgi"} {
		settings = fmt.Sprintf("%s_temp_path %s/%[1]s;\n%[3]s", kind, f.dir, settings)
	}
	return head + fmt.Sprintf("daemon off;\npid %s/pid;\nerror_log %[1]s/errors;\nevents {}\n"+
		"http {\naccess_log off;\n%s\n}\n", f.dir, settings)
}

// newFront makes a folder with the tests' certificate, and finds addresses.
func newFront(t *testing.T, behind string) front {
	t.Helper()
	dir := t.TempDir()
	cert, _ := certificate()
	der, err := x509.MarshalPKCS8PrivateKey(cert.PrivateKey)
	if err != nil {
		t.Fatal(err)
	}
	f := front{dir, filepath.Join(dir, "cert.pem"), filepath.Join(dir, "key.pem"), freeAddress(t), freeAddress(t), behind}
	for file, block := range map[string]*pem.Block{f.cert: {Type: "CERTIFICATE", Bytes: cert.Certificate[0]},
		f.key: {Type: "PRIVATE KEY", Bytes: der}} {
		if err := os.WriteFile(file, pem.EncodeToMemory(block), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return f
}

// TestFronts: with the settings that deploy has for it, each https server lets a
// child sign in and play.
func TestFronts(t *testing.T) {
	needEngines(t)
	for _, kind := range fronts {
		t.Run(kind.name, func(t *testing.T) {
			t.Parallel()
			s := newServer(t)
			f := newFront(t, s.listen)
			settings := kind.whole(f, kind.own(f).Replace(read(t, filepath.Join("deploy", kind.settings))))
			if strings.Contains(settings, "club.example {") || strings.Contains(settings, "live/club") {
				t.Fatalf("the settings have changed, and this test has not:\n%s", settings)
			}
			f.serve(t, kind.program, kind.args, settings, os.Stderr)
			s.base = "https://" + f.secure
			s.settings = []string{"DROVER_URL=" + s.base, "DROVER_PROXIES=127.0.0.1/32"}
			s.run()
			s.plays()
			if kind.name == "nginx" { // Caddy's own redirect is off here, since it needs port 80
				leadsToHTTPS(t, "http://"+f.plain+"/in", s.base+"/in")
			}
		})
	}
}

// serve starts an https server with whole settings, and waits until it answers.
func (f front) serve(t *testing.T, program string, args func(string) []string, settings string, log io.Writer) {
	t.Helper()
	file := filepath.Join(f.dir, "settings")
	if err := os.WriteFile(file, []byte(settings), 0o600); err != nil {
		t.Fatal(err)
	}
	launch(t, f.dir, func(cmd *exec.Cmd) { cmd.Stderr = log }, program, args(file)...)
	if err := until(patience, func() bool { return answers(f.secure) }); err != nil {
		t.Fatal(err)
	}
}

// TestFrontsKeepNoSecret: with the settings that deploy has for it, no https server writes the
// address of a calendar feed or of the way out of a mail into a log, nor a query or the page that
// somebody came from, not even while Drover does not answer; it does write there what else was
// asked for.
func TestFrontsKeepNoSecret(t *testing.T) {
	needEngines(t)
	for _, kind := range fronts {
		t.Run(kind.name, func(t *testing.T) {
			t.Parallel()
			f := newFront(t, freeAddress(t)) // behind which nobody is
			settings := kind.whole(f, kind.own(f).Replace(read(t, filepath.Join("deploy", kind.settings))))
			settings = strings.Replace(settings, "reverse_proxy", "log\n\treverse_proxy", 1) // Caddy's access log, too
			log, err := os.Create(filepath.Join(f.dir, "said"))
			if err != nil {
				t.Fatal(err)
			}
			defer log.Close()
			f.serve(t, kind.program, kind.args, settings, log)
			client := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{InsecureSkipVerify: true}}} //nolint:gosec // the test's own
			for _, path := range []string{"/feed/1.hidden.ics", "/feed/1.hidden", "/unsubscribe/1.hidden",
				"/feed/1.ics?as=hidden", "/welfare/reads?who=hidden", "/asked"} {
				r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, "https://"+f.secure+path, nil)
				if err != nil {
					t.Fatal(err)
				}
				r.Header.Set("Referer", "https://"+f.secure+"/students?name=hidden")
				answer, err := client.Do(r)
				if err != nil || answer.StatusCode != http.StatusBadGateway {
					t.Fatalf("%s: %v, %v", path, answer, err)
				}
				_ = answer.Body.Close()
			}
			logs := func() (all string) {
				for _, name := range []string{"said", "errors", "access"} {
					text, _ := os.ReadFile(filepath.Join(f.dir, name)) // not each server has each
					all += string(text)
				}
				return all
			}
			if err := until(patience, func() bool { return strings.Contains(logs(), "/asked") }); err != nil {
				t.Fatalf("the logs hold nothing: %v", err)
			}
			if !strings.Contains(logs(), "/welfare/reads") {
				t.Errorf("what was asked for is not there:\n%s", logs())
			}
			if strings.Contains(logs(), "hidden") {
				t.Errorf("a log holds the address:\n%s", logs())
			}
		})
	}
}

func answers(address string) bool {
	line, err := net.DialTimeout("tcp", address, time.Second)
	if err != nil {
		return false
	}
	_ = line.Close() // it was only a look
	return true
}

// plays makes a club, and lets a child play a game of one move.
func (s *server) plays() {
	s.Helper()
	coach := newTab(s.T, 1280, 900)
	makeClub1(coach, s)
	s.sql("update clubs set pace = 40")
	wick := addPupil(coach, s, "Wick")
	give(coach, s, "ending=KQK", map[string]string{"fens": mates(1)})
	child := newTab(s.T, 820, 1180)
	child.signIn(s, wick)
	child.begin()
	child.tapTap("a2a8", "")
	child.sees("Checkmate in 1 move")
}

// leadsToHTTPS holds that an address by plain http leads to the same page by https.
func leadsToHTTPS(t *testing.T, from, to string) {
	t.Helper()
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, from, nil)
	if err != nil {
		t.Fatal(err)
	}
	answer, err := client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	if answer.StatusCode != http.StatusMovedPermanently || answer.Header.Get("Location") != to {
		t.Errorf("%s: status %d to %q, want %s", from, answer.StatusCode, answer.Header.Get("Location"), to)
	}
}

// TestProxyWithoutSocketsIsSaid: behind a proxy that lets pages through and no
// sockets, the board page says so within five seconds, keeps trying, and is not
// loaded again.
func TestProxyWithoutSocketsIsSaid(t *testing.T) {
	s := startSecure(t, func(r *http.Request) {
		r.Header.Del("Upgrade")
		r.Header.Del("Connection")
	})
	coach := newTab(t, 1280, 900)
	makeClub1(coach, s)
	wick := addPupil(coach, s, "Wick")
	give(coach, s, "ending=KQK", map[string]string{"fens": mates(1)})
	child := newTab(t, 820, 1180)
	child.signIn(s, wick)
	child.click(`form[action="/today/start"] .go`)
	child.at("/play/")
	child.wait("document.querySelector('#begin').textContent.includes('websockets are blocked')")
	if soon := must[float64](child, "performance.now()"); soon > 8000 {
		t.Errorf("it took %.0f ms", soon) // 4 s of the page's own, and what the loaded machine adds
	}
}
