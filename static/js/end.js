// The panel of a game that is over, or that has stopped because the win went.

import { byId, chip, el, icon, mark } from './dom.js';
import * as model from './model.js';

// end draws the panel, or hides it, and says whether it has just come up. takeBack and
// helped are called for the actions that are not forms.
export function end(state, takeBack, helped) {
  const { now, game } = state;
  const panel = byId('after');
  const before = !panel.hidden;
  const shown = now.turn === 'over' || now.turn === 'gone';
  for (const at of [byId('main'), document.body]) at.classList.toggle('done', shown);
  panel.classList.toggle('stopped', now.turn === 'gone');
  panel.hidden = !shown;
  if (now.end) panel.replaceChildren(...ended(now.end, game, helped));
  else if (now.gone) panel.replaceChildren(...gone(state, takeBack));
  return shown && !before;
}

function ended(over, game, helped) {
  const article = over.article ? el('p', { class: 'article' }, over.article) : null;
  const sums = stageSums(over, game);
  const looks = (over.look || []).map((look) => el('p', { class: 'end-look' }, chip(look.grade),
    el('span', null, el('b', null, `Move ${look.no}${look.away ? ', taken back' : ''}: `), look.say)));
  const see = game.review ? el('a', { class: game.coach ? 'go' : null, href: game.review }, 'See the game') : null;
  const acts = game.coach
    ? [el('div', { class: 'end-acts' }, see)]
    : [el('div', { class: 'end-acts' }, ways(over, game)), el('p', { class: 'end-more' }, [see, model.trial(game) ? null : wasHelped(over, helped)].filter(Boolean))];
  return [game.coach ? title(over) : head(over, game), el('p', null, over.say.join(' ')), article, sums, ...looks, ...acts].filter(Boolean);
}

function title(over) {
  return el('h2', { tabindex: '-1' }, over.title);
}

// head says how it ended; a win alone has the shut barn door beside it, a draw that
// was held alone its sign.
function head(over, game) {
  if (!model.alone(over)) return title(over);
  return el('div', { class: 'alone-head' }, game.hold ? chip('held') : icon('alone', 'alone mate'), title(over));
}

function stageSums(over, game) {
  const stages = over.stages || [];
  const items = stages.map((stage, i) => {
    const name = game.stages.find((s) => s.id === stage.id)?.name || stage.id;
    const full = i < stages.length - 1 || !model.failed(over);
    return el('li', null, mark(stage.id, full ? 'full' : 'half', name), el('b', null, name), el('span', null, model.stageSum(stage)));
  });
  return items.length ? el('ul', { class: 'card sums' }, items) : null;
}

function ways(over, game) {
  return form(game, model.ways(over, game).map(([then, text], i) => button(then, text, i === 0)));
}

// wasHelped is the button without blame; a game that counts as helped, or was
// not won, has no use for it.
function wasHelped(over, helped) {
  if (!model.alone(over)) return null;
  const press = el('button', { type: 'button', class: 'quiet' }, 'Someone helped me');
  press.addEventListener('click', helped);
  return press;
}

// gone is the panel of a stopped game.
function gone(state, takeBack) {
  const { game, now: { gone: stop } } = state;
  return [
    el('div', { class: 'gone-head' }, chip(game.hold ? 'draw gone' : 'win gone'), title(stop)),
    ...stop.say.map((say) => el('p', null, say)),
    stop.article ? el('p', { class: 'article' }, stop.article) : null,
    game.coach ? el('p', { class: 'soft' }, 'The student decides: take the move back, or begin a new try.') : waysOn(state, takeBack),
  ].filter(Boolean);
}

function waysOn(state, takeBack) {
  const { game, now } = state;
  const back = el('button', { type: 'button', class: 'go' }, 'Take the move back');
  back.addEventListener('click', takeBack);
  const tries = [button('again', 'New try', !now.gone.back), button('today', model.leave(game))];
  return el('div', { class: 'end-acts' }, now.gone.back ? [back, el('p', { class: 'under' }, model.backWords(state))] : [], form(game, tries));
}

function form(game, buttons) {
  return el('form', { method: 'post', action: `/play/${game.id}/end` }, buttons);
}

function button(then, text, main) {
  return el('button', { class: main ? 'go' : 'btn', name: 'then', value: then }, text);
}
