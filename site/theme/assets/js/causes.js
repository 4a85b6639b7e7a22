'use strict';

/* A fault's causes with the numbers of one format. How usual a cause is decides first; among equally usual causes the
   smallest margin comes first. The numbers are those of the table below the causes. */
(function () {
  const { make, places } = window.sizebookKit;

  for (const place of places('causes')) {
    const list = document.querySelector('ol.sb-causes');
    const table = document.querySelector('table.sb-numbers');
    if (list && table) start(place, list, table);
  }

  function start(place, list, table) {
    const heads = [...table.tHead.rows[0].cells].slice(1);
    const rows = [...table.tBodies[0].rows];
    const causes = [...list.children].map((element) => {
      const drivers = element.dataset.drivers.split(' ').filter(Boolean).map(Number);
      return { element, drivers, usual: Number(element.dataset.usual) };
    });
    const byName = [...rows].sort((a, b) => name(a).localeCompare(name(b), 'en', { numeric: true }));
    const select = make('select', { autocomplete: 'off', on: { change: choose } },
      make('option', { value: '' }, 'none: the most usual cause first'),
      byName.map((row) => make('option', { value: row.dataset.id }, name(row))));
    const said = make('p', { class: 'sb-count', role: 'status' });
    place.className = 'sb-finder';
    place.append(make('label', { class: 'sb-field' }, make('span', {}, 'Numbers of format'), select), said);
    select.value = '';

    function choose() {
      const row = rows.find((one) => one.dataset.id === select.value);
      const ranked = causes.map((cause) => ({ ...cause, room: row ? thinnest(cause, row) : 0 }));
      if (row) ranked.sort((a, b) => b.usual - a.usual || a.room - b.room || causes.findIndex(same(a)) - causes.findIndex(same(b)));
      for (const { element, drivers } of ranked) {
        element.querySelector('.sb-drivers')?.remove();
        if (row) element.append(numbers(drivers, row));
      }
      list.append(...ranked.map((one) => one.element));
      rows.forEach((one) => one.classList.toggle('chosen', one === row));
      said.textContent = row
        ? `${name(row)}: the most usual cause first; of equally usual causes, the smallest margin first.`
        : '';
    }

    function numbers(drivers, row) {
      if (drivers.length === 0) return make('p', { class: 'sb-drivers' }, 'The book has no number for this cause.');
      return make('dl', { class: 'sb-drivers' }, drivers.map((i) => {
        const cell = row.cells[i + 1].cloneNode(true);
        const limit = heads[i].querySelector('small');
        return make('div', {}, make('dt', {}, words(heads[i])),
          make('dd', {}, ...cell.childNodes, limit && cell.textContent.trim() && ' ', limit?.cloneNode(true)));
      }));
    }

    /** The least margin of a cause's checks; without end where there is none. */
    function thinnest({ drivers }, row) {
      return Math.min(Infinity, ...drivers.map((i) => row.cells[i + 1].dataset.room).filter(Boolean).map(Number));
    }

    function same(one) {
      return (other) => other.element === one.element;
    }
  }

  function name(row) {
    return row.cells[0].textContent.trim();
  }

  function words(head) {
    const bare = head.cloneNode(true);
    bare.querySelectorAll('small').forEach((one) => one.remove());
    return bare.textContent.trim();
  }
})();
