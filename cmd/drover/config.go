package main

import (
	"errors"
	"fmt"
	"net"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"drover/solver"
	"drover/store/work"
	"drover/web"
)

// settings are what the environment says.
type settings struct {
	Database string    // DATABASE_URL: a Postgres that is there; empty: a private one
	Migrate  string    // DROVER_MIGRATE_URL: the same as the owner of the schema
	Data     string    // DROVER_DATA: the private Postgres' folder
	Listen   string    // DROVER_LISTEN: address and port
	URL      string    // DROVER_URL: the address that people use
	Tables   int64     // bytes that kept tables may take, from DROVER_TABLES_MIB
	Key      []byte    // DROVER_KEY: seals second factors; empty: the one in the data folder
	Proxies  []string  // DROVER_PROXIES: networks of reverse proxies in front, such as 127.0.0.1/32
	Post     work.Post // DROVER_SMTP_URL and DROVER_MAIL_FROM: who takes our mail; without them none is sent
}

// known lists the settings. Any other name that begins with DROVER_ is reported
// as a mistake and not ignored.
var known = []string{"DROVER_MIGRATE_URL", "DROVER_DATA", "DROVER_LISTEN", "DROVER_URL", "DROVER_PROXIES",
	"DROVER_TABLES_MIB", "DROVER_INSECURE_HTTP", "DROVER_KEY",
	"DROVER_SMTP_URL", "DROVER_MAIL_FROM"}

// readSettings reads the environment, and each setting from a file where its
// name with _FILE names one.
func readSettings(environ []string) (settings, error) {
	env := map[string]string{}
	for _, e := range environ {
		name, value, _ := strings.Cut(e, "=")
		env[name] = value
	}
	for name := range env {
		if base := strings.TrimSuffix(name, "_FILE"); strings.HasPrefix(name, "DROVER_") && !isKnown(base) &&
			!strings.HasPrefix(name, "DROVER_TEST_") {
			return settings{}, fmt.Errorf("the setting %s is not known. Known are DATABASE_URL, %s, each also with _FILE", name,
				strings.Join(known, ", "))
		}
	}
	var failed error
	get := func(name, otherwise string) string {
		if file := env[name+"_FILE"]; file != "" {
			b, err := os.ReadFile(file) //nolint:gosec // whoever runs the program names it
			if err != nil {
				failed = fmt.Errorf("%s_FILE: %w", name, err)
			}
			return strings.TrimSpace(string(b))
		}
		if env[name] != "" {
			return env[name]
		}
		return otherwise
	}
	s := settings{
		Database: get("DATABASE_URL", ""), Migrate: get("DROVER_MIGRATE_URL", ""),
		Data: get("DROVER_DATA", dataFolder(env)), Listen: get("DROVER_LISTEN", "127.0.0.1:8080"),
	}
	s.URL = get("DROVER_URL", "http://"+s.Listen)
	s.Proxies = strings.FieldsFunc(get("DROVER_PROXIES", ""), func(r rune) bool { return r == ',' || r == ' ' })
	insecure, mib := get("DROVER_INSECURE_HTTP", ""), get("DROVER_TABLES_MIB", "")
	key := get("DROVER_KEY", "")
	smtp, from := get("DROVER_SMTP_URL", ""), get("DROVER_MAIL_FROM", "")
	if failed != nil {
		return s, failed
	}
	if s.Key = []byte(key); key != "" && len(key) < 32 {
		return s, errors.New("DROVER_KEY must have 32 characters or more, such as openssl rand -base64 32 prints")
	}
	if s.Tables = solver.DefaultLimit; mib != "" {
		n, err := strconv.ParseInt(mib, 10, 32)
		if err != nil || n < 64 {
			return s, fmt.Errorf("DROVER_TABLES_MIB must be a number of mebibytes from 64, not %q", mib)
		}
		s.Tables = n << 20
	}
	u, err := web.Address(s.URL)
	if err != nil {
		return s, err //nolint:wrapcheck // it says which setting, and what it must be
	}
	s.URL = u.String()
	if s.Post, err = postOf(smtp, from, s.URL); err != nil {
		return s, err
	}
	return s, s.validate(u, insecure)
}

func isKnown(name string) bool {
	for _, k := range known {
		if k == name {
			return true
		}
	}
	return false
}

// dataFolder is where a private Postgres lives by default.
func dataFolder(env map[string]string) string {
	switch {
	case os.Geteuid() == 0:
		return "/var/lib/drover"
	case env["XDG_DATA_HOME"] != "":
		return filepath.Join(env["XDG_DATA_HOME"], "drover")
	}
	return filepath.Join(env["HOME"], ".local", "share", "drover")
}

// validate refuses settings that do not go together.
func (s settings) validate(u *url.URL, insecure string) error {
	if _, _, err := net.SplitHostPort(s.Listen); err != nil {
		return fmt.Errorf("DROVER_LISTEN must be an address and port such as 127.0.0.1:8080, not %q", s.Listen)
	}
	if _, err := web.Networks(s.Proxies); err != nil {
		return err //nolint:wrapcheck // it says which setting, and what it must be
	}
	if u.Scheme == "http" && !loopback(u.Hostname()) && insecure != "yes" {
		return fmt.Errorf("%s is plain http: everybody on the way could read the children's games and take their sessions. "+
			"Put https in front, or set DROVER_INSECURE_HTTP=yes for a closed network", s.URL)
	}
	return nil
}

func loopback(host string) bool {
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}
