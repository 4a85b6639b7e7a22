'use strict';

/* Puts in the pieces that a sheet shares with others; their script sets `window.sizebookParts`. A piece is a text, or
   markup with holes and what goes into them: texts, and pieces by their number. The page says that it is not complete
   until every piece is in. */
(function () {
  if (!window.sizebookParts) return;
  const { markup, parts } = window.sizebookParts;
  const filled = (hole) => (typeof hole === 'number' ? piece(hole) : hole);
  const piece = (number) => {
    const part = parts[number];
    if (typeof part === 'string') return part;
    return markup[part[0]].split('<>').reduce((before, after, i) => before + filled(part[i]) + after);
  };
  for (const place of document.querySelectorAll('template[data-parts]')) {
    place.outerHTML = place.dataset.parts.split(' ').map(Number).map(piece).join('');
  }
  document.querySelector('.incomplete').remove();
})();
