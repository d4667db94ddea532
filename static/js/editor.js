// The board editor of the builder: it puts the men of an ending on a board and adds
// the position to the lines of the text area, which stay what is sent.

import { Board, far, writeMen } from './board.js';
import { byId, el, shape, use } from './dom.js';
import * as paint from './paint.js';

// nameOf is a man by his letter in a FEN, as in 'white king'.
function nameOf(letter) {
  return `${letter === letter.toLowerCase() ? 'black' : 'white'} ${paint.letters[letter.toLowerCase()]}`;
}

function sentence(text) { return `${text[0].toUpperCase()}${text.slice(1)}.`; }

// picture is a man drawn by himself.
function picture(letter) {
  const dark = letter === letter.toLowerCase() ? ' dark' : '';
  return shape('svg', { class: `man${dark}`, viewBox: '0 0 64 64', 'aria-hidden': 'true' }, use(letter.toLowerCase()));
}

// SetUp is a board on which any man goes to any square.
class SetUp extends Board {
  // onTold gets a sentence about each change; onChange is told that there was one.
  constructor(host, onTold, onChange) {
    super(host, () => {});
    Object.assign(this, { onTold, onChange, stock: '', chosen: '' });
    this.lay(new Map());
  }

  // lay shows the men; trip is the move that brought them there, where it was one.
  lay(men, trip) {
    this.place(men, trip);
    this.name();
    this.onChange();
  }

  movable(square) { return this.men.has(square); }

  pick(square) {
    this.choose('');
    this.hand = square;
    this.layers.hold.replaceChildren(paint.picked(square, this.side));
    this.name();
  }

  // choose takes a man of the tray in hand; '' takes none.
  choose(letter) {
    super.drop();
    this.chosen = letter;
    this.onChange();
  }

  drop() {
    super.drop();
    if (this.chosen) this.choose('');
  }

  touch(square) {
    if (this.chosen) this.set(this.chosen, square);
    else if (square === this.hand) this.drop();
    else if (this.hand) this.shift(square);
    else if (this.men.has(square)) this.take(square);
    else this.onTold('Choose a man first, then a square.');
  }

  take(square) {
    this.pick(square);
    this.onTold(`${sentence(nameOf(this.men.get(square).letter))} Where to?`);
  }

  // set puts a man of the stock on a square; once all of his kind stand, the one that
  // has stood longest goes there.
  set(letter, square) {
    const men = this.letters();
    const had = men.get(square);
    men.delete(square);
    const alike = [...men].filter(([, other]) => other === letter).map(([at]) => at);
    const all = [...this.stock].filter((other) => other === letter).length;
    for (const at of alike.slice(0, Math.max(0, alike.length + 1 - all))) men.delete(at);
    this.choose('');
    if (had === letter) {
      this.lay(this.without(square));
      this.onTold(`${square} is empty.`);
      return;
    }
    men.set(square, letter);
    this.lay(men);
    this.onTold(sentence(`${nameOf(letter)} on ${square}`));
  }

  without(square) {
    const men = this.letters();
    men.delete(square);
    return men;
  }

  // shift moves the man in hand.
  shift(to) {
    const from = this.hand;
    const men = this.without(from), { letter } = this.men.get(from);
    men.set(to, letter);
    this.drop();
    this.lay(men, from + to);
    this.onTold(sentence(`${nameOf(letter)} on ${to}`));
  }

  // refuse is a man let go over another square.
  refuse(square) {
    this.dragged = true; // he is already there: no slide
    this.shift(square);
    this.dragged = false;
  }

  // aside is a man let go beside the board: he leaves it.
  aside() { this.clear(this.hand); }

  clear(square) {
    this.drop();
    if (!this.men.has(square)) return;
    const { letter } = this.men.get(square);
    this.lay(this.without(square));
    this.onTold(sentence(`${nameOf(letter)} off the board`));
  }

  key(e) {
    if (e.ctrlKey || e.metaKey || e.altKey || e.key === 'Escape') return; // the whole editor hears that
    if (e.key === 'Delete' || e.key === 'Backspace') this.clear(this.spot);
    else if (this.stock.includes(e.key)) this.set(e.key, this.spot); // a letter as in a FEN
    else { super.key(e); return; }
    this.grid.classList.remove('touched');
    e.preventDefault();
  }

  // keep takes away the men that an ending does not have.
  keep(stock) {
    this.drop();
    this.stock = stock;
    const men = new Map();
    for (const [square, letter] of this.letters()) {
      const taken = [...men.values()].filter((other) => other === letter).length;
      if ([...stock].filter((other) => other === letter).length > taken) men.set(square, letter);
    }
    this.lay(men);
  }
}

// wrongWith says what no position may have; the rest is the server's to say.
function wrongWith(men) {
  const kings = ['K', 'k'].map((king) => [...men].find(([, letter]) => letter === king)?.[0]);
  if (!kings[0]) return 'The white king is not on the board yet.';
  if (!kings[1]) return 'The black king is not on the board yet.';
  const [a, b] = kings.map((square) => paint.place(square, 'w'));
  if (Math.max(Math.abs(a.x - b.x), Math.abs(a.y - b.y)) > paint.unit) return '';
  return `The kings touch on ${kings.join(' and ')}. Leave a square between them.`;
}

// fenOf is the line of a position: in each drill White is to move.
function fenOf(men) {
  return `${writeMen(men).replace(/1+/g, (empty) => empty.length)} w - - 0 1`;
}

export class Editor {
  // text is the text area with a position on each line.
  constructor(text) {
    this.text = text;
    this.tray = byId('tray');
    this.line = 0; // the line that is on the board, from 1; 0: none
    this.board = new SetUp(byId('set-up'), (say) => this.tell(say), () => this.update());
    byId('editor').hidden = false;
    byId('editor-add').addEventListener('click', () => this.add());
    byId('editor-change').addEventListener('click', () => this.change());
    byId('editor-empty').addEventListener('click', () => this.empty());
    byId('editor-take').addEventListener('click', () => this.take());
    for (const type of ['keyup', 'click', 'focus', 'input']) text.addEventListener(type, () => this.caret());
    text.addEventListener('input', () => this.hold(0)); // its number may have changed
    document.addEventListener('keydown', (e) => { if (e.key === 'Escape') this.escape(); });
    this.drags();
    this.caret();
  }

  // tell speaks in the one region; the same sentence twice is two changes.
  tell(say) { byId('editor-say').replaceChildren(el('span', null, say)); }

  // fit takes over the men of the chosen ending, as in 'KRk'.
  fit(stock) {
    if (stock === this.board.stock) return;
    this.tray.replaceChildren(...this.buttons(stock));
    this.board.keep(stock);
  }

  buttons(stock) {
    return [...new Set(stock)].map((letter) => {
      const button = el('button', { type: 'button', 'data-man': letter }, picture(letter));
      // Enter, or a screen reader's tap, is a click without a pointer.
      button.addEventListener('click', (e) => { if (e.detail === 0) this.choose(letter); });
      return button;
    });
  }

  choose(letter) {
    const on = this.board.chosen !== letter;
    this.board.choose(on ? letter : '');
    this.tell(on ? `${sentence(nameOf(letter))} Where to?` : 'Let go.');
  }

  escape() {
    const { board } = this;
    if (!board.chosen && !board.hand && !this.pressed) return;
    board.letGo();
    board.drop();
    this.lift();
    this.tell('Let go.');
  }

  // update draws what is in hand and which men of the tray stand.
  update() {
    if (!this.board) return;
    const men = [...this.board.letters().values()];
    const count = (letters, letter) => [...letters].filter((other) => other === letter).length;
    for (const button of this.tray.children) {
      const letter = button.dataset.man;
      const all = count(this.board.stock, letter), on = count(men, letter);
      button.classList.toggle('on', on === all);
      button.setAttribute('aria-pressed', String(this.board.chosen === letter));
      button.setAttribute('aria-label', `${nameOf(letter)}${all > 1 ? `, ${on} of ${all} on the board` : on ? ', on the board' : ''}`);
    }
    this.board.grid.classList.toggle('takes', !!this.board.chosen);
  }

  // drags lets a man be drawn from the tray onto the board.
  drags() {
    this.tray.addEventListener('pointerdown', (e) => {
      const button = e.target.closest('button');
      if (!button || e.button !== 0 || this.pressed) return;
      this.pressed = { button, id: e.pointerId, x: e.clientX, y: e.clientY };
      button.setPointerCapture(e.pointerId);
    });
    this.tray.addEventListener('pointermove', (e) => this.drag(e));
    this.tray.addEventListener('pointerup', (e) => this.release(e));
    this.tray.addEventListener('pointercancel', () => this.lift());
  }

  drag(e) {
    const p = this.pressed;
    if (!p || e.pointerId !== p.id) return;
    if (!p.man) {
      if (Math.hypot(e.clientX - p.x, e.clientY - p.y) < far) return;
      this.board.drop();
      p.man = picture(p.button.dataset.man);
      p.man.classList.add('carried');
      document.body.append(p.man);
    }
    p.man.style.transform = `translate(${e.clientX - 24}px, ${e.clientY - 30}px)`;
  }

  release(e) {
    const p = this.pressed;
    if (!p || e.pointerId !== p.id) return;
    const { man: letter } = p.button.dataset;
    const square = p.man && this.board.under(e);
    this.lift();
    if (!p.man) this.choose(letter);
    else if (square) this.board.set(letter, square);
  }

  lift() {
    this.pressed?.man?.remove();
    this.pressed = null;
  }

  lines() { return this.text.value.split('\n'); }

  write(lines) {
    this.text.value = lines.join('\n');
    this.text.dispatchEvent(new Event('change', { bubbles: true }));
    this.caret();
  }

  // checked gives the men on the board, or says what is wrong with them.
  checked() {
    const men = this.board.letters();
    const wrong = wrongWith(men);
    if (wrong) this.tell(wrong);
    return wrong ? null : men;
  }

  add() {
    const men = this.checked();
    if (!men) return;
    const kept = this.text.value.trimEnd();
    const lines = kept ? kept.split('\n') : [];
    this.write([...lines, fenOf(men)]);
    this.tell(`Added as line ${lines.length + 1}.`);
  }

  change() {
    const men = this.checked();
    if (!men) return;
    const lines = this.lines(), { line } = this;
    lines[line - 1] = fenOf(men);
    this.write(lines);
    this.hold(0);
    this.tell(`Line ${line} is changed.`);
    byId('editor-add').focus();
  }

  empty() {
    this.board.drop();
    this.board.lay(new Map());
    this.hold(0);
    this.tell('The board is empty.');
  }

  // caret names the line that the button would take to the board.
  caret() {
    const before = this.text.value.slice(0, this.text.selectionStart).split('\n');
    this.at = before.length;
    byId('editor-take').hidden = !this.lines()[this.at - 1]?.trim();
    byId('editor-take').textContent = `Line ${this.at} to the board`;
  }

  // take shows a line on the board, so that it can be changed there.
  take() {
    const line = this.at;
    const men = paint.readFen(this.lines()[line - 1].trim());
    const stock = [...this.board.stock].sort().join('');
    if ([...men.values()].sort().join('') !== stock || [...men.keys()].some((square) => !/^[a-h][1-8]$/.test(square))) {
      this.tell(`Line ${line} does not have the men of this ending, each on a square and the student's white. Change it in the text.`);
      return;
    }
    this.board.drop();
    this.board.lay(men);
    this.hold(line);
    this.tell(`Line ${line} is on the board.`);
  }

  hold(line) {
    this.line = line;
    byId('editor-change').hidden = !line;
    byId('editor-change').textContent = `Change line ${line}`;
  }
}
