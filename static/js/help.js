// The help ladder: four steps, one layer at a time. What a step shows comes from
// the server with its act; looking at it again costs nothing.

import { byId, el, icon, many } from './dom.js';
import { hintLayers } from './cover.js';

const signs = ['queen', 'rook', 'bishop', 'knight', 'king'];

export class Ladder {
  // board shows the layers; ask(step) asks the server; tell speaks.
  constructor(board, ask, tell) {
    Object.assign(this, { board, ask, tell, shown: 0, near: true });
    byId('cover-near').addEventListener('click', () => this.reach(true));
    byId('cover-all').addEventListener('click', () => this.reach(false));
  }

  // update draws the ladder for a state; the layer goes when the board changes.
  update(state) {
    if (state.now.fen !== this.fen) { this.shown = 0; this.fen = state.now.fen; }
    this.state = state;
    const { game, now } = state;
    const on = game.help.length > 0 && now.turn === 'you';
    byId('help').hidden = !on;
    byId('main').classList.toggle('has-help', on);
    if (on) this.draw();
    this.layer();
  }

  // take shows a step that has just been answered.
  take(act) {
    this.shown = act.hint.step;
    this.draw();
    this.layer();
    this.tell(this.words(act.hint));
  }

  hint(step) {
    return this.state.acts.findLast((act) => act.hint && act.hint.step === step && act.fen === this.state.now.fen)?.hint;
  }

  used() {
    return new Set(this.state.acts.filter((act) => act.hint).map((act) => act.hint.step));
  }

  draw() {
    const used = this.used(), { game } = this.state;
    byId('help-count').textContent = used.size ? `${used.size} of ${game.help.length} used: this try counts as helped` : 'Using one counts as helped';
    const names = ['', 'His wish', game.pen ? 'His pen' : 'The gaps', 'Which man', 'The move'];
    byId('ladder').replaceChildren(...[1, 2, 3, 4].map((step) => this.rung(step, names[step], used)));
  }

  rung(step, label, used) {
    const allowed = this.state.game.help.includes(step);
    const shown = this.shown === step;
    const mark = shown ? icon('i-eye') : used.has(step) ? icon('i-check') : el('span', null, String(step));
    const button = el('button', {
      type: 'button', class: `rung${shown ? ' shown' : used.has(step) ? ' used' : ''}`, 'aria-pressed': String(shown),
      'aria-disabled': allowed ? null : 'true',
    }, el('span', { class: 'rung-no' }, mark), label);
    button.addEventListener('click', () => this.press(step, allowed));
    return button;
  }

  press(step, allowed) {
    if (!allowed) { this.tell('This drill does not give that help.'); return; }
    if (this.shown === step) this.shown = 0;
    else if (this.hint(step)) { this.shown = step; this.tell(this.words(this.hint(step))); }
    else { this.ask(step); return; }
    this.draw();
    this.layer();
  }

  reach(near) {
    this.near = near;
    this.layer();
  }

  layer() {
    const hint = this.shown && this.hint(this.shown);
    byId('reach').hidden = !hint?.cover;
    byId('cover-near').setAttribute('aria-pressed', String(this.near));
    byId('cover-all').setAttribute('aria-pressed', String(!this.near));
    byId('hint-key').replaceChildren(...(hint ? this.legend(hint) : []));
    this.board.hint(hint ? hintLayers(hint, this.board.side, this.board.lone(), this.near) : null);
  }

  // legend says in words what the layer shows.
  legend(hint) {
    const said = el('span', null, this.words(hint));
    const men = signs.filter((kind) => hint.cover?.some((man) => man.man === kind));
    return [said, ...men.map((kind) => el('span', { class: `sign-key ${kind}` }, kind))];
  }

  words(hint) {
    if (hint.wish) return `He would like to go to ${hint.wish}.`;
    if (hint.man) return `The man on ${hint.man} moves best.`;
    if (hint.move) return `${hint.move.san} is the move.`;
    if (hint.pen) return hint.pen.length > 24 ? 'His pen is open.' : `His pen: ${many(hint.pen.length, 'square')}.`;
    if (hint.gaps) return `If the turn passed he gets out by ${hint.gaps.map((gap) => gap[1]).join(', ')}.`;
    return hint.step === 2 ? 'No gap: he stays shut out.' : 'He has nowhere to go.';
  }
}
