'use strict';

/* What the other scripts share. Pages are opened from disk: no modules, nothing is fetched. */
window.sizebookKit = (function () {
  const root = new URL('../../', document.currentScript.src);
  const months = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'];
  let loading = null;

  /** The book's lookup data: loaded once, at the first use; null when it is not there. */
  function book() {
    loading ??= new Promise((resolve) => {
      if (window.sizebook) return resolve(window.sizebook);
      const script = document.createElement('script');
      script.src = new URL('assets/book.js', root).href;
      script.onload = () => resolve(window.sizebook ?? null);
      script.onerror = () => resolve(null);
      document.head.append(script);
    });
    return loading;
  }

  /** An element: `make('a', { href, class: 'x', on: { click } }, 'text', child)`. */
  function make(name, traits = {}, ...children) {
    return filled(document.createElement(name), traits, children);
  }

  /** The same for drawings. */
  function draw(name, traits = {}, ...children) {
    return filled(document.createElementNS('http://www.w3.org/2000/svg', name), traits, children);
  }

  function filled(element, traits, children) {
    for (const [key, value] of Object.entries(traits)) {
      if (key === 'on') Object.entries(value).forEach(([event, act]) => element.addEventListener(event, act));
      else if (value === true) element.setAttribute(key, '');
      else if (value !== false && value !== null && value !== undefined) element.setAttribute(key, value);
    }
    element.append(...children.flat().filter((child) => child !== null && child !== undefined && child !== false));
    return element;
  }

  /** Whole days from a day written 2026-11-25 to today, by this device's clock. */
  function daysSince(day) {
    return Math.round((Date.parse(today()) - Date.parse(day)) / 864e5);
  }

  /** Today as 2026-11-25, by this device's clock. */
  function today() {
    const now = new Date();
    return [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((part) => String(part).padStart(2, '0')).join('-');
  }

  /** 2026-11-25 as people write it: 25 Nov 2026. */
  function shown(day) {
    const [year, month, date] = day.split('-').map(Number);
    return `${date} ${months[month - 1]} ${year}`;
  }

  /** `1 day`, `2 days`. */
  function counted(count, word) {
    return `${count} ${word}${count === 1 ? '' : 's'}`;
  }

  /** Where a link of the lookup data leads, from any page. */
  function link(href) {
    return new URL(href, root).href;
  }

  /** The head of a row or column, linked where the glossary explains its words. */
  function term(words, terms) {
    const [href, meaning] = terms?.[words] ?? [];
    return href ? make('a', { class: 'sb-term', href: link(href), title: meaning }, words) : words;
  }

  /** Every place on the page for a tool: `<div data-sb="codes">`. */
  function places(name) {
    return [...document.querySelectorAll(`[data-sb="${name}"]`)];
  }

  /* The theme takes single letters for orders: a glove on a keyboard should not turn the page. */
  document.addEventListener('keydown', (event) => {
    const writing = event.target.closest?.('input, select, textarea') || document.getElementById('__search')?.checked;
    if (event.key.length === 1 && !writing) event.stopPropagation();
  });

  return { book, make, draw, daysSince, shown, counted, link, places, term, today };
})();
