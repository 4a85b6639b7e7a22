'use strict';

/* Puts in the pieces that a sheet shares with others; their script sets `window.sizebookParts`. A piece may hold
   further ones. The page says that it is not complete until every piece is in. */
(function () {
  const parts = window.sizebookParts ?? {};
  for (let place; (place = document.querySelector('template[data-part]'));) {
    const part = parts[place.dataset.part];
    if (part === undefined) return;
    place.outerHTML = part;
  }
  document.querySelector('.incomplete').remove();
})();
