// Steps through a game without loading the page again. All positions are in the
// page; without this module the links do the same.

import { byId } from './dom.js';
import { Board } from './board.js';

const list = [...byId('positions').children].map((item) => ({ ...item.dataset }));
const host = byId('board');
const words = (text) => (text ? text.split(' ') : []);
const corners = words(host.dataset.corners);
let at = Math.max(0, list.findIndex((p) => p.label === byId('step-label').textContent));

const board = new Board(host, () => {});
board.orient(host.dataset.side);

function show(i) {
  at = Math.max(0, Math.min(i, list.length - 1));
  const p = list[at];
  board.show({ fen: p.fen, last: p.last, check: p.check, ways: words(p.ways), corners });
  byId('step-label').textContent = p.label;
  byId('step-say').textContent = p.say;
  byId('step-also').textContent = p.also || '';
  byId('step-also').hidden = !p.also;
  link('previous', at - 1);
  link('next', at + 1);
  for (const row of document.querySelectorAll('tr[data-ply], .review-look')) row.classList.toggle('open', row.dataset.ply === p.ply);
}

function link(id, i) {
  const p = list[Math.max(0, Math.min(i, list.length - 1))];
  byId(id).setAttribute('href', `?at=${p.ply}`);
  byId(id).setAttribute('aria-disabled', String(i < 0 || i >= list.length));
}

function go(i) {
  show(i);
  history.replaceState(null, '', `?at=${list[at].ply}`);
}

byId('previous').addEventListener('click', (e) => { e.preventDefault(); go(at - 1); });
byId('next').addEventListener('click', (e) => { e.preventDefault(); go(at + 1); });
for (const a of document.querySelectorAll('a[data-to]')) {
  a.addEventListener('click', (e) => {
    e.preventDefault();
    go(list.findIndex((p) => p.ply === a.dataset.to));
    host.scrollIntoView({ block: 'nearest' });
  });
}
addEventListener('keydown', (e) => {
  if (e.target.closest('input, select, textarea, [role=grid]') || e.altKey || e.ctrlKey || e.metaKey) return;
  if (e.key === 'ArrowLeft') go(at - 1);
  else if (e.key === 'ArrowRight') go(at + 1);
});
if (list.length) show(at);
