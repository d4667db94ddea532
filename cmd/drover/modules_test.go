package main

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

// TestModules runs the tests of the modules that need no document in Chromium.
func TestModules(t *testing.T) {
	mux := http.NewServeMux()
	mux.Handle("GET /js/", http.StripPrefix("/js/", http.FileServer(http.Dir("../../static/js"))))
	mux.HandleFunc("GET /modules.js",
		func(w http.ResponseWriter, r *http.Request) { http.ServeFile(w, r, "testdata/modules.js") })
	mux.HandleFunc("GET /{$}", func(w http.ResponseWriter, _ *http.Request) {
		// The test sees what is missing.
		_, _ = w.Write([]byte(`<!DOCTYPE html><body><script type="module" src="/modules.js"></script>`))
	})
	server := httptest.NewServer(mux)
	defer server.Close()
	b := newTab(t, 800, 600)
	b.open(server.URL)
	b.wait("document.body.dataset.done")
	if failures := must[string](b, "document.body.dataset.failures"); failures != "" {
		t.Error(strings.ReplaceAll("\n"+failures, "\n", "\n\t"))
	}
	if checks := must[float64](b, "Number(document.body.dataset.checks)"); checks < 60 {
		t.Errorf("only %.0f checks ran", checks)
	}
}
