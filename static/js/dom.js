// Small helpers to build elements. Text goes in as text only, never as markup.

const svgNS = 'http://www.w3.org/2000/svg';
const sprite = new URL('../img/drover.svg', import.meta.url).href;

// fill sets attributes and adds children; null, false and '' are left out.
function fill(node, attrs, kids) {
  for (const [name, value] of Object.entries(attrs || {})) {
    if (value === true) node.setAttribute(name, '');
    else if (value !== null && value !== undefined && value !== false) node.setAttribute(name, value);
  }
  node.append(...kids.flat().filter((kid) => kid || kid === 0));
  return node;
}

// el makes an HTML element.
export function el(tag, attrs, ...kids) {
  return fill(document.createElement(tag), attrs, kids);
}

// shape makes an SVG element.
export function shape(tag, attrs, ...kids) {
  return fill(document.createElementNS(svgNS, tag), attrs, kids);
}

// use refers to one drawing of the sprite.
export function use(id, attrs) {
  return shape('use', { ...attrs, href: `${sprite}#${id}` });
}

// icon is a drawing on its own; with a name it is an image to a screen reader.
export function icon(id, cls, name, wide) {
  const heard = name ? { role: 'img', 'aria-label': name } : { 'aria-hidden': 'true' };
  return shape('svg', { class: cls, viewBox: `0 0 ${wide ? 40 : 24} 24`, ...heard }, use(id));
}

const states = { none: 'not begun', half: 'in progress', full: 'reached', bell: 'mastered', lost: 'lost again' };

// mark is a stage mark in one of its states; with a bell or a fall beside it it is
// wider.
export function mark(stage, state, name) {
  const wide = state === 'bell' || state === 'lost';
  return icon(`${stage}-${state}`, `mark ${stage}${wide ? ' wide' : ''}`, name && `${name}, ${states[state]}`, wide);
}

const chips = { 'on course': 'course', 'no nearer': 'stuck', detour: 'detour', slip: 'slip', 'win gone': 'gone', held: 'held', 'draw gone': 'let-go' };

// chip is the tile of a grade, empty for a grade that is not shown.
export function chip(grade, small) {
  const id = chips[grade];
  if (!id) return null;
  return el('span', { class: `chip ${id}${small ? ' mini' : ''}` }, icon(`g-${id}`, null, small && grade));
}

// byId finds an element of the page's skeleton.
export function byId(id) {
  return document.getElementById(id);
}
