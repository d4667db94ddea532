package static

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"net/http"
	"os"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"
)

var writeIcons = flag.Bool("icons", false, "write the icons of the app anew, from the app's mark in the sprite")

// icons are the files that are made of the app's mark: the side in pixels, and whether a
// system may cut the icon to a shape of its own (purpose maskable): then the ground goes
// to the edge, and the mark stays inside the circle that is never cut away, 40 % of the
// side wide from the middle (W3C Web Application Manifest, Icon masks and safe zone).
var icons = []struct {
	name string
	side int
	mask bool
}{
	{"img/icon-192.png", 192, false}, {"img/icon-512.png", 512, false},
	{"img/icon-mask-192.png", 192, true}, {"img/icon-mask-512.png", 512, true},
}

// bit is one piece of the mark: a rectangle with round corners. A circle is one, too.
type bit struct {
	x, y, w, h, r float64
	fill          color.NRGBA
}

// mark reads the app's mark out of the sprite: rectangles and circles in a box of 64.
func appMark(t *testing.T) []bit {
	t.Helper()
	sprite, err := os.ReadFile("img/drover.svg")
	if err != nil {
		t.Fatal(err)
	}
	symbol := regexp.MustCompile(`(?s)<symbol id="app" viewBox="0 0 64 64">.*?</symbol>`).Find(sprite)
	d := xml.NewDecoder(bytes.NewReader(symbol))
	var bits []bit
	fills := []string{""}
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return bits
		}
		if err != nil {
			t.Fatal(err)
		}
		switch e := token.(type) {
		case xml.StartElement:
			at := attributes(e)
			if at["fill"] == "" {
				at["fill"] = fills[len(fills)-1]
			}
			fills = append(fills, at["fill"])
			bits = append(bits, bitOf(t, e.Name.Local, at)...)
		case xml.EndElement:
			fills = fills[:len(fills)-1]
		}
	}
}

func attributes(e xml.StartElement) map[string]string {
	at := map[string]string{}
	for _, a := range e.Attr {
		at[a.Name.Local] = a.Value
	}
	return at
}

// bitOf is the piece that an element draws; of any but those that the mark is made of
// the test knows nothing.
func bitOf(t *testing.T, name string, at map[string]string) []bit {
	t.Helper()
	n := func(key string) (v float64) {
		_, _ = fmt.Sscanf(at[key], "%g", &v) // one that is not there is 0
		return v
	}
	switch name {
	case "symbol", "g":
		return nil
	case "rect":
		return []bit{{n("x"), n("y"), n("width"), n("height"), n("rx"), fillOf(t, at["fill"])}}
	case "circle":
		r := n("r")
		return []bit{{n("cx") - r, n("cy") - r, 2 * r, 2 * r, r, fillOf(t, at["fill"])}}
	}
	t.Fatalf("the app's mark has a <%s>, which this test cannot draw", name)
	return nil
}

func fillOf(t *testing.T, text string) (c color.NRGBA) {
	t.Helper()
	hex := regexp.MustCompile(`#[0-9A-F]{6}`).FindString(text) // also inside var(--mark, #2A2038)
	if _, err := fmt.Sscanf(hex, "#%02X%02X%02X", &c.R, &c.G, &c.B); err != nil {
		t.Fatalf("fill %q: %v", text, err)
	}
	c.A = 255
	return c
}

// has says whether a point lies inside.
func (b bit) has(x, y float64) bool {
	if x < b.x || y < b.y || x > b.x+b.w || y > b.y+b.h {
		return false
	}
	dx := max(b.x+b.r-x, x-(b.x+b.w-b.r), 0)
	dy := max(b.y+b.r-y, y-(b.y+b.h-b.r), 0)
	return dx*dx+dy*dy <= b.r*b.r || dx == 0 || dy == 0
}

// draw paints the mark with 8 x 8 samples per pixel.
func draw(bits []bit, side int, mask bool) *image.NRGBA {
	const n = 8
	if mask { // the ground has no corners, and the mark is 0.75 as large: its own corners are 29 of 32 units away
		bits = slices.Clone(bits)
		bits[0].r = 0
		for i := range bits[1:] {
			b := &bits[i+1]
			b.x, b.y, b.w, b.h, b.r = 8+0.75*b.x, 8+0.75*b.y, 0.75*b.w, 0.75*b.h, 0.75*b.r
		}
	}
	img := image.NewNRGBA(image.Rect(0, 0, side, side))
	for y := range side {
		for x := range side {
			var sum [3]int
			hits := 0
			for i := range n * n {
				u := (float64(x) + (float64(i%n)+0.5)/n) * 64 / float64(side)
				v := (float64(y) + (float64(i/n)+0.5)/n) * 64 / float64(side)
				for _, b := range slices.Backward(bits) {
					if b.has(u, v) {
						sum[0], sum[1], sum[2] = sum[0]+int(b.fill.R), sum[1]+int(b.fill.G), sum[2]+int(b.fill.B)
						hits++
						break
					}
				}
			}
			if hits > 0 {
				img.SetNRGBA(x, y, color.NRGBA{uint8(sum[0] / hits), uint8(sum[1] / hits), uint8(sum[2] / hits), uint8(hits * 255 / (n * n))})
			}
		}
	}
	return img
}

// TestIcons: the icons are the app's mark as the sprite has it now.
// `go test ./static -run TestIcons -icons` writes them anew.
func TestIcons(t *testing.T) {
	t.Parallel()
	bits := appMark(t)
	if len(bits) != 5 || bits[0].w != 64 {
		t.Fatalf("the mark has %d pieces", len(bits))
	}
	for _, icon := range icons {
		want := draw(bits, icon.side, icon.mask)
		if *writeIcons {
			var out bytes.Buffer
			e := png.Encoder{CompressionLevel: png.BestCompression}
			if err := e.Encode(&out, want); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(icon.name, out.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		data, err := os.ReadFile(icon.name)
		if err != nil {
			t.Fatal(err)
		}
		got, err := png.Decode(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		if !same(got, want) {
			t.Errorf("%s is not the app's mark of now", icon.name)
		}
		if icon.mask {
			safe(t, icon.name, got)
		}
	}
	mark := regexp.MustCompile(`(?s)<symbol id="app" viewBox="0 0 64 64">(.*?)</symbol>`).FindStringSubmatch(read(t, "img/drover.svg"))[1]
	icon := `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 64 64">` + strings.ReplaceAll(mark, "var(--mark, #2A2038)", "#2A2038") + "</svg>\n"
	if *writeIcons {
		if err := os.WriteFile("img/icon.svg", []byte(icon), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if read(t, "img/icon.svg") != icon {
		t.Error("img/icon.svg is not the app's mark of now")
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

func same(a, b image.Image) bool {
	if a.Bounds() != b.Bounds() {
		return false
	}
	for y := range a.Bounds().Dy() {
		for x := range a.Bounds().Dx() {
			if color.NRGBAModel.Convert(a.At(x, y)) != color.NRGBAModel.Convert(b.At(x, y)) {
				return false
			}
		}
	}
	return true
}

// safe checks that outside the safe circle there is nothing but the ground.
func safe(t *testing.T, name string, img image.Image) {
	t.Helper()
	side := img.Bounds().Dx()
	ground := img.At(0, 0)
	if _, _, _, a := ground.RGBA(); a != 0xffff {
		t.Errorf("%s has a clear corner", name)
	}
	for y := range side {
		for x := range side {
			dx, dy := float64(x)+0.5-float64(side)/2, float64(y)+0.5-float64(side)/2
			if dx*dx+dy*dy > 0.4*0.4*float64(side*side) && img.At(x, y) != ground {
				t.Fatalf("%s: the mark reaches %d,%d, outside the safe circle", name, x, y)
			}
		}
	}
}

// manifest is what a browser reads of it (W3C Web Application Manifest, the members of a
// manifest; what a browser asks for before it offers to keep a site as an app is a name,
// a start, a display mode and icons of 192 and 512 pixels).
type manifest struct {
	ID         string `json:"id"`
	Name       string `json:"name"`
	Short      string `json:"short_name"`
	Start      string `json:"start_url"`
	Scope      string `json:"scope"`
	Display    string `json:"display"`
	Theme      string `json:"theme_color"`
	Background string `json:"background_color"`
	Icons      []struct {
		Src, Sizes, Type, Purpose string
	} `json:"icons"`
}

// TestManifest: the manifest has what a browser needs, its icons are there with the sizes
// and types that it says, and it and they are served as what they are.
func TestManifest(t *testing.T) {
	t.Parallel()
	res := get(t, Path("drover.webmanifest"))
	if res.StatusCode != http.StatusOK || res.Header.Get("Content-Type") != "application/manifest+json" ||
		!strings.Contains(res.Header.Get("Cache-Control"), "immutable") {
		t.Fatalf("served as %d %v", res.StatusCode, res.Header)
	}
	var m manifest
	if err := json.NewDecoder(res.Body).Decode(&m); err != nil {
		t.Fatal(err)
	}
	if m.Name == "" || m.Short == "" || len(m.Short) > 12 || m.Start != "/" || m.Scope != "/" || m.ID != "/" || m.Display != "standalone" {
		t.Errorf("%+v", m)
	}
	css := read(t, "css/drover.css")
	if !strings.Contains(css, "--card: "+m.Theme) || !strings.Contains(css, "--page: "+m.Background) {
		t.Errorf("theme %s and ground %s are not those of the pages", m.Theme, m.Background)
	}
	seen := map[string]bool{}
	for _, icon := range m.Icons {
		seen[icon.Sizes+" "+icon.Purpose] = true
		file := get(t, path.Join(path.Dir(Path("drover.webmanifest")), icon.Src))
		if file.StatusCode != http.StatusOK || file.Header.Get("Content-Type") != icon.Type {
			t.Errorf("%s: %d %s", icon.Src, file.StatusCode, file.Header.Get("Content-Type"))
			continue
		}
		if icon.Type != "image/png" {
			continue
		}
		c, err := png.DecodeConfig(file.Body)
		if err != nil || fmt.Sprintf("%dx%d", c.Width, c.Height) != icon.Sizes {
			t.Errorf("%s says %s and is %dx%d: %v", icon.Src, icon.Sizes, c.Width, c.Height, err)
		}
	}
	for _, want := range []string{"192x192 any", "512x512 any", "192x192 maskable", "512x512 maskable", "any any"} {
		if !seen[want] {
			t.Errorf("no icon %s", want)
		}
	}
}

// TestDarkTwice: who wants it dark on a light device sees the colours of a dark device.
func TestDarkTwice(t *testing.T) {
	t.Parallel()
	css := read(t, "css/drover.css")
	body := func(head string) string {
		_, rest, found := strings.Cut(css, head+" {")
		if !found {
			t.Fatalf("no %s", head)
		}
		text, _, _ := strings.Cut(rest, "}")
		return strings.Join(strings.Fields(text), " ")
	}
	device, own := body("  :root:not([data-scheme=light])"), body("  :root[data-scheme=dark] { color-scheme: dark; }\n  :root[data-scheme=dark]")
	if device != own || !strings.Contains(own, "--page") {
		t.Errorf("a dark device has\n%s\nand a dark scheme\n%s", device, own)
	}
}
