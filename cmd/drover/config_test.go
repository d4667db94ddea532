package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"drover/solver"
)

// TestSettings: what the environment says, and what is taken where it is silent.
func TestSettings(t *testing.T) {
	t.Parallel()
	secret := filepath.Join(t.TempDir(), "db")
	if err := os.WriteFile(secret, []byte("postgres://app@db/drover\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	home := dataFolder(map[string]string{"HOME": "/home/ilse"})
	for _, c := range []struct {
		name string
		env  []string
		want settings
	}{
		{"nothing", []string{"HOME=/home/ilse"}, settings{Data: home, Listen: "127.0.0.1:8080",
			URL: "http://127.0.0.1:8080"}},
		{"another port", []string{"HOME=/home/ilse", "DROVER_LISTEN=localhost:9000"},
			settings{Data: home, Listen: "localhost:9000", URL: "http://localhost:9000"}},
		{"everything", []string{
			"DATABASE_URL=postgres://a/b", "DROVER_MIGRATE_URL=postgres://c/d", "DROVER_DATA=/srv/drover", "DROVER_LISTEN=:80",
			"DROVER_URL=https://drover.club.example/",
		}, settings{Database: "postgres://a/b", Migrate: "postgres://c/d", Data: "/srv/drover", Listen: ":80",
			URL: "https://drover.club.example"}},
		{"a file", []string{"HOME=/home/ilse", "DATABASE_URL_FILE=" + secret},
			settings{Database: "postgres://app@db/drover", Data: home, Listen: "127.0.0.1:8080", URL: "http://127.0.0.1:8080"}},
		{"a file before a value", []string{"HOME=/home/ilse", "DATABASE_URL=other", "DATABASE_URL_FILE=" + secret},
			settings{Database: "postgres://app@db/drover", Data: home, Listen: "127.0.0.1:8080", URL: "http://127.0.0.1:8080"}},
		{"a closed network", []string{"HOME=/home/ilse", "DROVER_URL=http://club.lan:8080", "DROVER_INSECURE_HTTP=yes"},
			settings{Data: home, Listen: "127.0.0.1:8080", URL: "http://club.lan:8080"}},
		{"proxies", []string{"HOME=/home/ilse", "DROVER_PROXIES=127.0.0.1/32, 10.0.0.0/8"},
			settings{Data: home, Listen: "127.0.0.1:8080", URL: "http://127.0.0.1:8080",
				Proxies: []string{"127.0.0.1/32", "10.0.0.0/8"}}},
		{"this machine", []string{"HOME=/home/ilse", "DROVER_URL=http://[::1]:8080"},
			settings{Data: home, Listen: "127.0.0.1:8080", URL: "http://[::1]:8080"}},
		{"settings of others", []string{"HOME=/home/ilse", "PATH=/bin", "DROVERS=7", "broken"},
			settings{Data: home, Listen: "127.0.0.1:8080", URL: "http://127.0.0.1:8080"}},
		{"tables", []string{"HOME=/home/ilse", "DROVER_TABLES_MIB=100"}, settings{Data: home, Listen: "127.0.0.1:8080",
			URL: "http://127.0.0.1:8080", Tables: 100 << 20}},
	} {
		if c.want.Tables == 0 {
			c.want.Tables = solver.DefaultLimit
		}
		if got, err := readSettings(c.env); err != nil || fmt.Sprintf("%+v", got) != fmt.Sprintf("%+v", c.want) {
			t.Errorf("%s: %+v, %v\nwant %+v", c.name, got, err, c.want)
		}
	}
}

// TestSettingsRefused: each mistake is said with what to do.
func TestSettingsRefused(t *testing.T) {
	t.Parallel()
	for env, say := range map[string]string{
		"DROVER_LISTN=127.0.0.1:9000": "DROVER_LISTN is not known. " +
			"Known are DATABASE_URL, DROVER_MIGRATE_URL",
		"DROVER_URLFILE=x":                             "DROVER_URLFILE is not known",
		"DROVER_NOTHING_FILE=x":                        "DROVER_NOTHING_FILE is not known",
		"DROVER_URL=drover.club.example":               "must be an address such as https://drover.club.example",
		"DROVER_URL=:":                                 "must be an address such as",
		"DROVER_LISTEN=8080":                           "must be an address and port such as 127.0.0.1:8080",
		"DROVER_URL=http://drover.club.example":        "Put https in front, or set DROVER_INSECURE_HTTP=yes",
		"DROVER_URL=http://127.0.0.1.club.example":     "Put https in front",
		"DROVER_URL=http://192.168.0.7:8080":           "Put https in front",
		"DROVER_LISTEN=0.0.0.0:8080":                   "Put https in front",
		"DROVER_PROXIES=127.0.0.1":                     "must be networks such as 127.0.0.1/32",
		"DROVER_TABLES_MIB=12":                         "a number of mebibytes from 64",
		"DROVER_TABLES_MIB=much":                       "a number of mebibytes from 64",
		"DATABASE_URL_FILE=/nowhere/at/all":            "DATABASE_URL_FILE: open /nowhere/at/all",
		"DROVER_MIGRATE_URL_FILE=/nowhere/at/all":      "DROVER_MIGRATE_URL_FILE: open",
		"DROVER_INSECURE_HTTP_FILE=/nowhere/at/all":    "DROVER_INSECURE_HTTP_FILE: open",
		"DROVER_URL=ftp://drover.club.example":         "must be an address such as",
		"DROVER_URL=https://drover.club.example/below": "must be an address such as",
	} {
		if _, err := readSettings([]string{"HOME=/home/ilse", env}); err == nil || !strings.Contains(err.Error(), say) {
			t.Errorf("%s: %v, want %q", env, err, say)
		}
	}
	if _, err := readSettings([]string{"DROVER_URL=http://club.lan", "DROVER_INSECURE_HTTP=true"}); err == nil {
		t.Error("only yes switches plain http on")
	}
}

// TestDataFolder: root has a folder of the system, a person one at home.
func TestDataFolder(t *testing.T) {
	t.Parallel()
	got := dataFolder(map[string]string{"HOME": "/home/ilse", "XDG_DATA_HOME": "/home/ilse/.data"})
	want := "/home/ilse/.data/drover"
	if os.Geteuid() == 0 {
		want = "/var/lib/drover"
	}
	if got != want {
		t.Errorf("%s, want %s", got, want)
	}
}
