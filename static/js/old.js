// Says on the board page that a browser is too old for the board. In words that
// every engine reads: the other scripts of that page are modules in newer words, and
// an engine that does not know them says nothing at all.
(function () {
  'use strict';
  var css = window.CSS && window.CSS.supports;
  var knows = 'noModule' in document.createElement('script') && css && CSS.supports('aspect-ratio', '1') && CSS.supports('inset', '0') &&
    Element.prototype.replaceChildren && Element.prototype.animate && String.prototype.replaceAll &&
    window.HTMLDialogElement && HTMLDialogElement.prototype.showModal && window.PointerEvent && window.WebSocket;
  if (knows) return;
  document.getElementById('begin').hidden = true;
  document.getElementById('too-old').hidden = false;
  document.getElementById('line').hidden = true;
  document.getElementById('main').className += ' too-old';
}());
