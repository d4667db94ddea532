// A page that shows what is a person's own. When the browser takes it out of its
// memory again, after 'Back' for instance, it shows nothing until the server has said
// that the same person is still signed in. In words that every engine reads.
(function () {
  'use strict';
  var root = document.documentElement;

  // A page that holds a lock is not kept in memory by some engines.
  if (navigator.locks) navigator.locks.request('drover', { mode: 'shared' }, function () { return new Promise(function () {}); });

  function show() { root.classList.remove('away'); }
  function again() { location.reload(); }

  window.addEventListener('pagehide', function () { root.classList.add('away'); });
  window.addEventListener('pageshow', function (e) {
    if (!e.persisted) { show(); return; }
    root.classList.add('away');
    fetch('/here', { cache: 'no-store', credentials: 'same-origin' })
      .then(function (answer) { return answer.text(); })
      .then(function (who) { if (who === root.getAttribute('data-who')) show(); else again(); })
      .catch(again);
  });
}());
