// The board: it shows positions and takes moves by tap, drag and keyboard. It
// knows no rules; which moves there are comes in with each position.

import { el, shape, use } from './dom.js';
import * as paint from './paint.js';

export const far = 8; // CSS pixels after which a press becomes a drag
const still = matchMedia('(prefers-reduced-motion: reduce)');

export class Board {
  // host is empty, or has the picture of a position, which stays until the first one is
  // shown; onMove gets a move as text, "g1e2" or "a7a8q";
  // onRefuse the squares of a move that there is not, the first empty where no man
  // was picked up.
  constructor(host, onMove, onRefuse = () => {}) {
    this.host = host;
    this.onMove = onMove;
    this.onRefuse = onRefuse;
    this.side = 'w';        // which stands at the bottom
    this.own = 'w';         // whose men move
    this.men = new Map();   // square -> { letter, node }
    this.legal = [];
    this.hand = null;       // square of the man picked up
    this.spot = 'e1';       // square with the tab stop
    this.layers = {};
    this.onTurn = () => {}; // hears that the board was turned
    this.build();
  }

  build() {
    const svg = shape('svg', { viewBox: '0 0 512 512', 'aria-hidden': 'true' });
    for (const layer of ['ground', 'cover', 'under', 'hold', 'leaving', 'men', 'hurdles', 'over']) {
      this.layers[layer] = shape('g', { 'data-layer': layer });
      svg.append(this.layers[layer]);
    }
    this.layers.ground.append(...paint.stones());
    this.svg = svg;
    this.grid = el('div', { class: 'grid', role: 'grid', 'aria-label': 'Board', 'aria-describedby': document.getElementById('keys') && 'keys' });
    if (this.host.firstElementChild) this.host.append(this.grid); // over the picture, until its place is taken
    else this.host.replaceChildren(svg, this.grid);
    this.orient('w');
    this.listen();
  }

  // orient turns the board so that side 'w' or 'b' sits at the bottom. Its men are those
  // who move, unless own says another side.
  orient(side, own = side) {
    this.side = side;
    this.own = own;
    this.cells = new Map();
    const rows = [];
    for (let row = 0; row < 8; row += 1) {
      const line = el('div', { role: 'row' });
      for (let col = 0; col < 8; col += 1) {
        const square = side === 'b' ? paint.name(7 - col, row) : paint.name(col, 7 - row);
        const cell = el('div', { role: 'gridcell', 'data-square': square, tabindex: '-1' });
        this.cells.set(square, cell);
        line.append(cell);
      }
      rows.push(line);
    }
    this.grid.replaceChildren(...rows);
    for (const { node } of this.men.values()) node.remove();
    this.men.clear();
    this.layers.leaving.replaceChildren();
    for (const [name, signs] of [['ranks', '87654321'], ['files', 'abcdefgh']]) {
      const at = this.host.parentElement?.querySelector(`.${name}`);
      const order = side === 'b' ? [...signs].reverse() : [...signs];
      if (at) [...at.children].forEach((sign, i) => { sign.textContent = order[i]; });
    }
  }

  // turn lets the other side stand at the bottom; all else stays as it is, the focus too.
  turn() {
    const { hand, view } = this;
    const inside = this.grid.contains(document.activeElement);
    this.orient(this.side === 'w' ? 'b' : 'w', this.own);
    if (view) this.show(view);
    if (hand) this.pick(hand);
    if (inside) this.focus(this.spot, { preventScroll: true });
    this.onTurn();
  }

  // show paints a position: fen, last (a move), took (it took a man), check (a square),
  // corners, ways (squares to number) and legal (moves as text; empty when nobody may move).
  show(view) {
    this.view = view;
    if (!this.svg.isConnected) this.host.replaceChildren(this.svg, this.grid);
    this.drop();
    const men = paint.readFen(view.fen);
    if (view.last) this.bury(view.last, men, view.took);
    else this.taken = null;
    this.place(men, view.last);
    this.legal = view.legal || [];
    const side = this.side;
    this.layers.under.replaceChildren(
      ...paint.mating(view.corners, view.fen).map((square) => paint.corner(square, side)),
      ...(view.last ? paint.track(view.last, side) : []),
      ...(view.check ? [paint.hatch(view.check, side)] : []));
    this.layers.over.replaceChildren(
      ...(view.last ? [paint.ticks(view.last.slice(2, 4), side)] : []),
      ...(this.taken ? [paint.fallen(this.taken.square, this.taken.dark, side)] : []),
      ...(view.ways ? paint.discs(view.ways, side) : []));
    this.name();
  }

  // hint paints a layer of help, or takes it away.
  hint(layers) {
    this.layers.cover.replaceChildren(...(layers?.under || []));
    this.layers.hurdles.replaceChildren(...(layers?.over || []));
  }

  // letters maps each square with a man to the man's letter.
  letters() { return new Map([...this.men].map(([square, man]) => [square, man.letter])); }

  // lone is the square of the other side's king.
  lone() {
    const letter = this.own === 'w' ? 'k' : 'K';
    return [...this.men].find(([, man]) => man.letter === letter)?.[0];
  }

  // ahead paints a move before anybody has confirmed it.
  ahead(uci, corners) {
    this.hint(null);
    const men = this.letters();
    const from = uci.slice(0, 2), to = uci.slice(2, 4);
    const letter = men.get(from);
    const aside = letter && letter.toLowerCase() === 'p' && from[0] !== to[0] && !men.has(to);
    if (aside) men.delete(to[0] + from[1]); // a pawn taken in passing
    men.delete(from);
    const grown = uci[4] && (letter === 'P' ? uci[4].toUpperCase() : uci[4]);
    men.set(to, grown || letter);
    const fen = writeMen(men);
    this.show({ fen, last: uci, corners });
  }

  // bury finds the man whom the last move took: on the board he fades and goes off his
  // square, and a mark stays where he was taken for as long as the move is the last one.
  bury(last, men, took) {
    const from = last.slice(0, 2), to = last.slice(2, 4);
    const mover = this.men.get(from);
    const played = mover && !men.has(from) && men.has(to) && white(mover.letter) === white(men.get(to));
    if (!played) { // it stands already, or the page comes anew
      if (this.taken?.by !== last) this.taken = took ? { by: last, square: to, dark: white(men.get(to) || 'k') } : null;
      return;
    }
    const square = this.men.has(to) ? to : to[0] + from[1]; // a pawn can be taken in passing
    const man = this.men.get(square);
    this.taken = man && square !== from && !men.has(from) && white(man.letter) !== white(mover.letter) && (square === to || !men.has(square))
      ? { by: last, square, dark: !white(man.letter) } : null;
    if (!this.taken) return;
    this.men.delete(square);
    this.leave(man.node, from, to);
  }

  // leave lets a man who was taken go the way he was pushed, while he fades.
  leave(node, from, to) {
    if (still.matches || !node.isConnected) { node.remove(); return; }
    const a = paint.place(from, this.side), b = paint.place(to, this.side);
    const [x, y] = node.getAttribute('transform').match(/[-\d.]+/g).map(Number);
    const push = (p, q) => Math.sign(q - p) * paint.unit;
    this.layers.leaving.append(node);
    const way = [{ transform: `translate(${x}px, ${y}px)`, opacity: 1 }, { opacity: 0.8, offset: 0.5 },
      { transform: `translate(${x + push(a.x, b.x)}px, ${y + push(a.y, b.y)}px)`, opacity: 0 }];
    node.animate(way, { duration: 400, easing: 'ease-out', fill: 'forwards' }).finished.then(() => node.remove(), () => node.remove());
  }

  place(men, last) {
    if (last) this.slide(last.slice(0, 2), last.slice(2, 4), men);
    for (const [square, man] of this.men) {
      if (men.get(square) !== man.letter) { man.node.remove(); this.men.delete(square); }
    }
    for (const [square, letter] of men) {
      if (this.men.has(square)) continue;
      const node = paint.man(letter, square, this.side);
      this.layers.men.append(node);
      this.men.set(square, { letter, node });
    }
  }

  // slide moves a node that stands on its old square, so that it can be followed.
  slide(from, to, men) {
    const man = this.men.get(from);
    if (!man || men.get(to) !== man.letter || men.get(from)) return;
    this.men.get(to)?.node.remove();
    this.men.delete(from);
    this.men.set(to, man);
    const a = paint.place(from, this.side), b = paint.place(to, this.side);
    man.node.setAttribute('transform', `translate(${b.x} ${b.y})`);
    if (still.matches || this.dragged) return;
    const way = [a, b].map((p) => ({ transform: `translate(${p.x}px, ${p.y}px)` }));
    man.node.animate(way, { duration: 120, easing: 'ease-out' });
  }

  // name tells a screen reader what stands where and what may be done.
  name() {
    const targets = this.targets();
    for (const [square, cell] of this.cells) {
      const man = this.men.get(square);
      let text = square;
      if (man) text += `, ${man.letter === man.letter.toLowerCase() ? 'black' : 'white'} ${paint.letters[man.letter.toLowerCase()]}`;
      if (square === this.hand) text += ', picked up';
      else if (targets.has(square)) text += man ? ', can take' : ', can go here';
      cell.setAttribute('aria-label', text);
      cell.setAttribute('aria-selected', String(square === this.hand));
      cell.classList.toggle('can', targets.has(square) || this.movable(square));
      cell.tabIndex = square === this.spot ? 0 : -1;
    }
  }

  movable(square) { return this.legal.some((move) => move.startsWith(square)); }

  targets() {
    return new Set(this.hand ? this.legal.filter((m) => m.startsWith(this.hand)).map((m) => m.slice(2, 4)) : []);
  }

  pick(square) {
    this.hand = square;
    const steps = [...this.targets()].flatMap((to) => paint.doorstep(to, this.men.has(to), this.side));
    this.layers.hold.replaceChildren(paint.picked(square, this.side), ...steps);
    this.name();
  }

  drop() {
    this.closeChoice();
    if (!this.hand) return;
    this.hand = null;
    this.layers.hold.replaceChildren();
    this.name();
  }

  // touch is a tap, Enter or Space on a square.
  touch(square) {
    if (this.hand && this.targets().has(square)) this.put(square);
    else if (square === this.hand) this.drop();
    else if (this.movable(square)) this.pick(square);
    else this.refuse(square);
  }

  // refuse lets go of the man in hand, and says where it cannot go.
  refuse(square) {
    const from = this.hand || '';
    this.drop();
    this.onRefuse(from, square);
  }

  put(to) {
    const moves = this.legal.filter((move) => move.startsWith(this.hand + to));
    if (moves.length > 1) { this.choose(moves); return; }
    this.play(moves[0]);
  }

  play(move) {
    this.drop();
    this.legal = [];
    this.spot = move.slice(2, 4);
    this.onMove(move);
  }

  // choose asks which man a pawn becomes.
  choose(moves) {
    const dark = this.own === 'b' ? ' dark' : '';
    const buttons = moves.map((move) => {
      const button = el('button', { type: 'button', 'aria-label': paint.letters[move[4]] },
        shape('svg', { class: `man${dark}`, viewBox: '0 0 64 64' }, use(move[4])));
      button.addEventListener('click', () => this.play(move));
      return button;
    });
    this.choice = el('div', { class: 'promote card', role: 'dialog', 'aria-modal': 'true', 'aria-label': 'The pawn becomes' }, el('p', null, 'The pawn becomes'), buttons);
    this.choice.addEventListener('keydown', (e) => { if (e.key === 'Escape') { this.drop(); this.focus(this.spot); } });
    this.host.append(this.choice);
    buttons[0].focus();
  }

  closeChoice() {
    this.choice?.remove();
    this.choice = null;
  }

  focus(square, how) {
    this.cells.get(this.spot).tabIndex = -1;
    this.spot = square;
    const cell = this.cells.get(square);
    cell.tabIndex = 0;
    cell.focus(how);
  }

  listen() {
    const grid = this.grid;
    grid.addEventListener('keydown', (e) => this.key(e));
    grid.addEventListener('mousedown', (e) => e.preventDefault()); // a tap ends with one: it must not take the focus back
    grid.addEventListener('pointerdown', (e) => this.press(e));
    grid.addEventListener('pointermove', (e) => this.drag(e));
    grid.addEventListener('pointerup', (e) => this.release(e));
    grid.addEventListener('pointercancel', () => this.letGo());
    grid.addEventListener('contextmenu', (e) => { if (this.pressed) e.preventDefault(); });
    // A screen reader's tap is a click without a pointer.
    grid.addEventListener('click', (e) => {
      const cell = e.target.closest('[data-square]');
      if (cell && e.detail === 0) this.touch(cell.dataset.square);
    });
  }

  key(e) {
    this.grid.classList.remove('touched');
    const steps = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1], Home: [-7, 0], End: [7, 0] };
    if (steps[e.key]) this.focus(this.beside(...steps[e.key]));
    else if (e.key === 'Enter' || e.key === ' ') this.touch(this.spot);
    else if (e.key === 'Escape') this.drop();
    else if (e.key.toLowerCase() === 't' && !e.altKey && !e.ctrlKey && !e.metaKey) this.turn();
    else return;
    e.preventDefault();
  }

  beside(dx, dy) {
    const { x, y } = paint.place(this.spot, this.side);
    return this.squareAt(clamp(x / paint.unit + dx), clamp(y / paint.unit + dy));
  }

  squareAt(col, row) {
    return this.side === 'b' ? paint.name(7 - col, row) : paint.name(col, 7 - row);
  }

  under(e) {
    const box = this.grid.getBoundingClientRect();
    const col = Math.floor((e.clientX - box.left) / box.width * 8), row = Math.floor((e.clientY - box.top) / box.height * 8);
    return col >= 0 && col < 8 && row >= 0 && row < 8 ? this.squareAt(col, row) : null;
  }

  press(e) {
    if (e.button !== 0 || this.pressed) return;
    this.grid.classList.add('touched');
    const square = this.under(e);
    this.pressed = { square, id: e.pointerId, x: e.clientX, y: e.clientY };
    this.grid.setPointerCapture(e.pointerId);
  }

  drag(e) {
    const p = this.pressed;
    if (!p || e.pointerId !== p.id || !p.square) return;
    if (!p.man) {
      if (Math.hypot(e.clientX - p.x, e.clientY - p.y) < far || !this.movable(p.square)) return;
      this.pick(p.square);
      p.man = this.men.get(p.square).node;
      this.layers.men.append(p.man);
    }
    const box = this.grid.getBoundingClientRect();
    const scale = 512 / box.width;
    p.man.setAttribute('transform', `translate(${(e.clientX - box.left) * scale - 32} ${(e.clientY - box.top) * scale - 38})`);
  }

  release(e) {
    const p = this.pressed;
    if (!p || e.pointerId !== p.id) return;
    const square = this.under(e);
    this.pressed = null;
    if (!p.man) {
      if (!square || square !== p.square) return;
      this.focus(square, { preventScroll: true });
      this.touch(square);
      return;
    }
    this.back(p);
    if (square && this.targets().has(square)) {
      this.dragged = true; // it is already there: no slide
      this.put(square);
      this.dragged = false;
    } else if (square && square !== p.square) this.refuse(square);
    else if (square) this.drop();
    else this.aside();
  }

  // aside is a man let go beside the board: he stays where he was.
  aside() { this.drop(); }

  letGo() {
    const p = this.pressed;
    this.pressed = null;
    if (p?.man) { this.back(p); this.drop(); }
  }

  back(p) {
    const { x, y } = paint.place(p.square, this.side);
    p.man.setAttribute('transform', `translate(${x} ${y})`);
  }
}

function white(letter) { return letter === letter.toUpperCase(); }

function clamp(n) { return Math.max(0, Math.min(7, n)); }

// writeMen writes where the men stand as a FEN does, empty squares one by one.
export function writeMen(men) {
  const rows = [];
  for (let rank = 7; rank >= 0; rank -= 1) {
    let row = '';
    for (let file = 0; file < 8; file += 1) row += men.get(paint.name(file, rank)) || '1';
    rows.push(row);
  }
  return rows.join('/');
}
