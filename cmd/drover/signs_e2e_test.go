package main

import (
	"fmt"
	"testing"

	"drover/static"
)

// signs runs a piece of JavaScript with the modules that draw, in a page of their
// own server.
func (b *tab) signs(js string) string {
	b.Helper()
	must[bool](b, fmt.Sprintf(`(window.said = null, (async () => {
		const paint = await import(%q), help = await import(%q), { Board } = await import(%q);
		const lay = (fen, hint) => {
			const host = document.createElement('div');
			host.style.width = '512px';
			document.body.append(host);
			const board = new Board(host, () => {});
			board.show({ fen, corners: ['a1', 'h8'] });
			board.hint(help.hintLayers(hint, board, true));
			return board;
		};
		%s
	})().then((bad) => { window.said = bad; }, (e) => { window.said = String(e); }), true)`,
		static.Path("js/paint.js"), static.Path("js/help.js"), static.Path("js/board.js"), js))
	b.wait("window.said !== null")
	return must[string](b, "window.said")
}

// TestSigns: what help draws crosses no man's face and stays inside the wall, and
// 'mate here' goes with the bishop or the knight.
func TestSigns(t *testing.T) {
	s := startServer(t)
	b := newTab(t, 900, 900)
	b.open(s.base + "/in")
	for name, js := range map[string]string{
		"dots over a man": `
			const moves = ['a1h8', 'd4d5', 'd4e6', 'd4b5', 'h1a1', 'c3c4', 'g7h8', 'e2c3', 'e2d4'];
			const bad = [];
			for (const side of ['w', 'b']) for (const uci of moves) {
				const ends = [uci.slice(0, 2), uci.slice(2)].map((at) => paint.place(at, side));
				for (const dot of paint.track(uci, side, true)) {
					const [x, y] = [Number(dot.getAttribute('cx')), Number(dot.getAttribute('cy'))];
					const over = ends.some((at) => Math.abs(x - at.x - 32) < 28 && Math.abs(y - at.y - 32) < 28);
					if (dot.tagName !== 'circle' || over) bad.push(uci + ' ' + x + ',' + y);
				}
				if (!paint.track(uci, side, true).length) bad.push(uci + ': no dot at all');
			}
			return bad.join('; ');`,
		"gaps over the wall": `
			const bad = [];
			const gaps = [['b2', 'a1'], ['b2', 'a2'], ['b1', 'a1'], ['g7', 'h8'], ['b7', 'a8'], ['e7', 'e8'], ['g2', 'h2']];
			for (const gap of gaps) {
				const board = lay('8/8/8/4k3/8/8/8/K7 w - - 0 1', { step: 2, gaps: [gap] });
				const wall = board.svg.getBoundingClientRect();
				for (const part of board.layers.hurdles.querySelectorAll('path')) {
					const r = part.getBoundingClientRect();
					const across = r.left < wall.left || r.right > wall.right, along = r.top < wall.top || r.bottom > wall.bottom;
					if (across || along) bad.push(gap.join('-'));
				}
			}
			return bad.join(' ');`,
		"signs on a man": `
			const cover = [{ man: 'rook', squares: ['a2', 'a3', 'b1', 'd1'] }];
			const board = lay('8/8/8/8/8/1k6/8/R2K4 w - - 0 1', { step: 2, cover, wish: 'a1' });
			const under = board.layers.cover, over = board.layers.hurdles;
			const signs = under.querySelectorAll('.cover-sign').length;
			const below = under.querySelector('.tuft') && !over.querySelector('.tuft');
			return (signs === 2 ? '' : 'signs: ' + signs) + (below ? '' : 'the tuft lies over the man');`,
		"mate here": `
			const angles = (men) => lay(men + ' w - - 0 1', {}).layers.under.querySelectorAll('.angle').length;
			const counts = ['KBN5', 'K1N5', 'KB6'].map((row) => angles('8/8/8/4k3/8/8/8/' + row));
			return counts.join(' ') === '2 0 0' ? '' : 'angles';`,
	} {
		if bad := b.signs(js); bad != "" {
			t.Errorf("%s: %s", name, bad)
		}
	}
}
