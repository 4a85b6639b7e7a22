'use strict';

/* A link to a place inside a fold opens the fold, in every browser. */
(function () {
  window.addEventListener('hashchange', open);
  document.addEventListener('click', (event) => event.target.closest?.('a[href^="#"]') && setTimeout(open));
  open();

  function open() {
    const place = document.querySelector(':target');
    let opened = false;
    for (let fold = place && place.closest('details'); fold; fold = fold.parentElement.closest('details')) {
      opened ||= !fold.open;
      fold.open = true;
    }
    if (opened) place.scrollIntoView();
  }
})();
