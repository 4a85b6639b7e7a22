'use strict';

/* A table wider than the screen slides in a box of its own, with buttons for gloves and arrow keys for keyboards. */
(function () {
  const { make } = window.sizebookKit;

  document.addEventListener('sizebook:tables', boxAll);
  boxAll();

  /** Tables that came with the page, and those that a script has made since. */
  function boxAll() {
    for (const table of document.querySelectorAll('.md-typeset table.sb-table, .md-typeset table:not([class])')) {
      if (!table.closest('.sb-wide, .sb-process')) box(table);
    }
  }

  function box(table) {
    const given = table.closest('.md-typeset__scrollwrap, .sb-scroll');
    const inner = given ?? make('div', { class: 'sb-scroll' });
    const hint = make(
      'p',
      { class: 'sb-wide__hint' },
      make('span', {}, 'Scroll sideways'),
      slide('‹', 'Scroll the table left', -1),
      slide('›', 'Scroll the table right', 1),
    );
    const outer = make('div', { class: 'sb-wide' });
    (given ?? table).before(outer);
    if (!given) inner.append(table);
    outer.append(hint, inner);
    inner.addEventListener('scroll', look, { passive: true });
    new ResizeObserver(look).observe(inner);
    new ResizeObserver(look).observe(table);
    suit(table);
    look();

    function slide(sign, words, way) {
      const on = { click: () => inner.scrollBy({ left: way * inner.clientWidth * 0.7 }) };
      return make('button', { type: 'button', class: 'sb-button', 'aria-label': words, on }, sign);
    }

    function look() {
      const slides = inner.scrollWidth > inner.clientWidth + 1;
      outer.classList.toggle('slides', slides);
      outer.classList.toggle('at-end', inner.scrollLeft + inner.clientWidth >= inner.scrollWidth - 2);
      outer.style.setProperty('--box', `${inner.offsetHeight - 2}px`);
      if (slides) {
        inner.tabIndex = 0;
        inner.setAttribute('role', 'region');
        inner.setAttribute('aria-label', named());
      } else {
        ['tabindex', 'role', 'aria-label'].forEach((name) => inner.removeAttribute(name));
      }
    }

    function named() {
      if (table.caption) return table.caption.textContent;
      let above = outer;
      while (above && !/^H[1-6]$/.test(above.tagName)) above = above.previousElementSibling ?? above.parentElement;
      return above ? `Table: ${above.firstChild.textContent.trim()}` : 'Table';
    }
  }

  /** A word with hyphens, such as a date, an id or a code, is not broken over two lines; a sentence gets some width. */
  function suit(table) {
    for (const cell of table.querySelectorAll('td, th')) {
      if (cell.querySelector('svg')) continue; // the title of a picture takes no room
      const words = cell.textContent.trim();
      if (/^[^\s-]+-\S{1,12}$/.test(words)) cell.classList.add('sb-whole');
      else if (words.length > 14) cell.classList.add(words.length > 60 ? 'sb-sentence' : 'sb-words');
    }
  }
})();
