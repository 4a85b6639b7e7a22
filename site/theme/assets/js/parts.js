'use strict';

/* Puts in the pieces that a sheet shares with others; their script sets `window.sizebookParts`. A piece is a text, or
   markup with holes and what goes into them: texts, and pieces by their number. The page says that it is not complete
   until every piece is in. A square code is one hexadecimal number: its squares row by row, 1 is dark. */
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
  const square = (number) => {
    const squares = BigInt(`0x${number}`).toString(2);
    const side = Math.sqrt(squares.length);
    let [path, x, y] = ['', 0, 0];
    for (let row = 0; row < side; row += 1) {
      squares.slice(row * side, (row + 1) * side).replace(/1+/g, (run, from) => {
        path += `m${from - x} ${row - y}h${run.length}`;
        [x, y] = [from + run.length, row];
      });
    }
    return `<svg viewBox="0 0 ${side + 4} ${side + 4}" class="segno">
      <path class="qrline" stroke="#000" d="M2 2.5${path}"/></svg>`;
  };
  for (const place of document.querySelectorAll('template[data-square]')) {
    place.outerHTML = square(place.dataset.square);
  }
  document.querySelector('.incomplete').remove();
})();
