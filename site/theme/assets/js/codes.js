'use strict';

/* Is the sheet in my hand current? A code is typed, pasted or seen by the camera; the answer is a word, a shape and
   a colour. It covers every code that this site build has: setup sheets of all issues, drafts and trials, reaction plans,
   changeover sheets with their job cards, and the long fingerprint of each or its first eight digits. Codes are made of
   C D F H J K M R T W X Y 3 4 7 9 alone, so another letter is a misread one. A fingerprint is made of 0 to 9 and
   A to F, so O is read as 0, and I and L as 1. */
(function () {
  const { book, counted, daysSince, draw, link, make, places, shown, today } = window.sizebookKit;
  const TOO_OLD = 30;
  const DRAFT = /^[Z2][CDFHJKMRTWXY3479]{5}$/;
  const FINGERPRINT = /^[0-9A-FOIL]{8,64}$/;
  const WHOLE = 64;
  const MISREAD = {
    0: 'DC', O: 'DC', Q: 'D9C', 1: '7TJ', I: 'TJ7', L: 'J7', 2: '73', Z: '73', 5: '39', S: '39', 6: 'C9', 8: '39', B: '3R', G: 'C9',
    A: 'R4H', E: 'F3', N: 'MHW', P: 'RF9', U: 'YJW', V: 'YW',
  };
  const ALIKE = ['39', '49', '7TYJ', 'CD', 'FR', 'KX', 'MWH', 'XY', 'KR', '37'];
  const SHAPES = {
    current: 'M32 3a29 29 0 1 0 .01 0ZM17 33l10 11 20-23',
    superseded: 'M20 3h24l17 17v24L44 61H20L3 44V20ZM20 20l24 24M44 20 20 44',
    unknown: 'M32 2 62 32 32 62 2 32ZM24 25c1-11 17-10 16 0-1 6-8 6-8 13M32 45v1',
  };

  for (const place of places('codes')) book().then((found) => start(place, standing(found?.sheets ?? [], found?.built ?? ''), found?.built, found?.draft));

  /** Every sheet with its state today. An issue recorded ahead of its day takes over when that day has come, also in a
      copy made before. The setup sheets come in the order of issue, in which a later one replaces all that begin no
      earlier than it does. A changeover sheet is current while both its setup sheets are, reaction plans while a
      current setup sheet names them. A clock that is behind the
      copy is not believed. */
  function standing(sheets, built) {
    const day = [today(), built].sort().at(-1);
    const issued = (one) => one.kind === 'setup' && ['current', 'superseded'].includes(one.state);
    const issues = new Map();
    const of = (one) => ['sheet', 'line', 'format'].map((key) => one[key]).join('\n');
    for (const one of sheets.filter(issued)) issues.set(of(one), [...(issues.get(of(one)) ?? []), one]);
    const setups = sheets.filter((one) => one.kind === 'setup').map((one) => {
      if (!issued(one)) return one;
      const same = issues.get(of(one));
      const alive = same.some((other) => other.state === 'current');
      const upTo = one.since > day ? one.since : day;
      const later = same.slice(same.indexOf(one) + 1).filter((other) => other.since <= upTo).reverse();
      const state = later.length > 0 ? 'superseded' : one.since > day ? 'early' : alive ? 'current' : 'superseded';
      const unfit = state === 'current' && one.why?.length > 0;
      return { ...one, state: unfit ? 'unfit' : state, now: alive ? same.filter((other) => other.since <= day).at(-1) : null, later };
    });
    const changeovers = sheets.filter((one) => one.kind === 'changeover').map((one) => {
      const both = one.setups.map((code) => setups.findLast((setup) => setup.code === code && setup.line === one.line));
      const lapsed = both.find((setup) => setup?.state === 'superseded');
      const waiting = both.some((setup) => !['current', 'superseded'].includes(setup?.state));
      const state = ['current', 'early'].includes(one.state) ? (lapsed ? 'superseded' : one.since > day ? 'early' : waiting ? 'unrecorded' : 'current') : one.state;
      return { ...one, state, lapsed };
    });
    const plans = sheets.filter((one) => one.kind === 'plans').map((one) => {
      const named = setups.some((setup) => setup.state === 'current' && one.setups.includes(setup.code));
      return { ...one, state: named ? 'current' : 'superseded' };
    });
    return [...setups, ...plans, ...changeovers];
  }

  function start(place, sheets, built, copy) {
    const input = make('input', {
      id: 'sb-code', type: 'text', autocomplete: 'off', autocapitalize: 'characters', spellcheck: 'false',
      enterkeyhint: 'done', maxlength: '400', placeholder: 'K7F-4X', on: { input: answer },
    });
    const out = make('div', { class: 'sb-answer-box', role: 'status', 'aria-live': 'polite' });
    const clear = make('button', { type: 'button', class: 'sb-button', hidden: true, on: { click: wipe } }, 'Clear');
    const form = make('div', { class: 'sb-asker' },
      make('label', { for: 'sb-code' }, 'Code on the sheet'),
      make('div', { class: 'sb-asker__row' }, input, clear));
    const given = 'plain' in place.dataset || document.querySelector('table .sb-code') !== null;
    place.replaceChildren(form, out, ...(given ? [] : lists(sheets)));
    document.dispatchEvent(new Event('sizebook:tables'));
    place.dispatchEvent(new CustomEvent('sizebook:asker', { bubbles: true, detail: { row: form.lastChild, read } }));
    answer();

    function read(text) {
      input.value = text;
      answer();
    }

    function wipe() {
      read('');
      input.focus();
    }

    function answer() {
      clear.hidden = input.value === '';
      const found = lookUp(input.value, sheets);
      out.replaceChildren(...(found ? panels(found) : []));
    }

    function panels({ typed, found, misread, near, draft }) {
      if (draft || (found.length > 0 && found.every((one) => one.code.startsWith('Z-')))) {
        return [panel('superseded', 'Draft', [
          make('p', {}, code(found[0]?.code ?? typed), ' is the code of a draft. No draft is current. Do not set a machine from it. Get the current sheet.'),
          ...found.map(what),
        ])];
      }
      if (copy) {
        return [panel('unknown', 'Ask the plant’s site', [
          make('p', {}, `This site build is ${copy}: it cannot say which sheet is current.`), ...found.map(what),
        ])];
      }
      if (found.length > 0) return found.map((one) => stated(one, typed, misread));
      return [panel('unknown', 'Unknown', [
        make('p', {}, code(typed), ' is not in this site build', built ? ` of ${shown(built)}` : '', '. Do not use the sheet. Read the code again. If it is right, the sheet is newer or older than this site build: update the tablet, or get a new sheet.'),
        near.length > 0 && make('p', {}, 'It looks like:'),
        near.length > 0 && make('div', { class: 'sb-near' }, near.map((one) => make('button',
          { type: 'button', class: 'sb-button', on: { click: () => read(one.code) } }, code(one.code), ` ${one.sheet}`))),
      ])];
    }

    /** The answer for one sheet of this site build. */
    function stated(sheet, typed, misread) {
      const aged = built && daysSince(built) > TOO_OLD;
      const as = misread ? make('p', { class: 'sb-answer__read' }, `${typed} is no code; read as `, code(sheet.code), '. Compare it with the sheet.') : null;
      const doubt = misread ? `, if it is ${sheet.code}` : '';
      const reasons = (sheet.why ?? []).length > 0 && make('ul', {}, sheet.why.map((one) => make('li', {}, one)));
      const { now, later = [] } = sheet;
      const said = {
        current: () => panel('current', (aged ? 'Current in an old site build' : 'Current') + doubt, [
          as, what(sheet), since(sheet),
          aged && make('p', {}, `This site build is ${counted(daysSince(built), 'day')} old: a newer sheet may be out. Update the tablet, or look at the posted list.`),
        ], aged || misread),
        early: () => panel('unknown', 'Not current yet' + doubt, [
          as, what(sheet), make('p', {}, `It begins on ${shown(sheet.since)}.`), now && current(now),
        ]),
        superseded: () => panel('superseded', 'Superseded' + doubt, [
          as, what(sheet),
          sheet.lapsed && make('p', {}, 'The setup sheet ', code(sheet.lapsed.code), ' that it refers to is superseded. Get a new changeover sheet.'),
          sheet.lapsed ? sheet.lapsed.now && current(sheet.lapsed.now)
            : now ? current(now) : make('p', {}, 'No sheet of this name is current any more.'),
          later.length > 0 && make('p', {}, 'What changed:'),
          later.length > 0 && make('ul', {}, later.map((one) => make('li', {}, `${shown(one.since)}, revision ${one.revision}: ${listed(one.changed)}`))),
        ]),
        trial: () => panel('unknown', 'Trial' + doubt, [
          as, what(sheet), make('p', {}, 'The format is on trial. Use the sheet only with engineering present.'), reasons,
        ], true),
        draft: () => panel('superseded', 'Draft' + doubt, [
          as, what(sheet), make('p', {}, 'The format is a draft. Do not set a machine from this sheet.'), reasons,
        ]),
        unfit: () => panel('superseded', 'Not for use' + doubt, [
          as, what(sheet), make('p', {}, 'Do not set a machine from this sheet:'), reasons,
        ]),
        unrecorded: () => panel('unknown', 'Not recorded' + doubt, [
          as, what(sheet), make('p', {}, 'This sheet is not issued: its code, or that of one of its setup sheets, is not in the register of codes. Do not use it. Ask the owner of the format to record it.'),
        ]),
      };
      return said[sheet.state]();
    }
  }

  function current(now) {
    return make('p', {}, 'Current sheet: ', make('a', { href: link(now.href) }, `revision ${now.revision}`), ', ', code(now.code), `, issued ${shown(now.since)}.`);
  }

  function since(sheet) {
    if (sheet.kind === 'plans') return make('p', {}, 'A current setup sheet names this code.');
    return sheet.kind === 'changeover'
      ? make('p', {}, 'Both its setup sheets are current: ', code(sheet.setups[0]), ' and ', code(sheet.setups[1]), '.')
      : make('p', {}, `Sheet issued ${shown(sheet.since)}.`);
  }

  /* --- looking up --- */

  /** What a text names: nothing while it is too short; otherwise the sheets of that code, or sheets that look alike. */
  function lookUp(text, sheets) {
    const words = text.toUpperCase().split(/[\s,;:|]+/).filter(Boolean);
    const whole = bare(text);
    const signs = [...new Set([whole, ...words.map(bare)])];
    const print = signs.map(digits).filter((one) => FINGERPRINT.test(one)).sort((a, b) => b.length - a.length)[0];
    if (print) {
      const found = sheets.filter((one) => one.digest?.toUpperCase().startsWith(print));
      if (found.length > 0) return { typed: print.slice(0, 16), found: last(found), near: [] };
      if (print.length === WHOLE || print === digits(whole)) return { typed: print.slice(0, 16), found: [], near: [] };
    }
    // a square code names the sheet's own code last; the codes before it are those of its setup sheets
    const own = words[words.indexOf('CODE') + 1];
    const typed = words.includes('CODE') && own ? [own] : [...words, whole];
    for (const like of [(code, word) => code === word, (code, word) => bare(code) === bare(word)]) {
      for (const word of typed) {
        const same = sheets.filter((one) => like(one.code, word));
        if (same.length > 0) return { typed: word, found: last(same), near: [] };
      }
    }
    const draft = signs.find((word) => DRAFT.test(word));
    if (draft) return { typed: draft, found: [], draft: true, near: [] };
    const shortest = Math.min(...sheets.map((one) => bare(one.code).length), 6);
    if (whole.length < shortest) return null;
    const meant = last(sheets.filter((one) => signs.some((word) => misreadAs(word, bare(one.code)))));
    if (meant.length === 1) return { typed: whole, found: meant, misread: true, near: [] };
    const near = meant.length ? meant : last(sheets.filter((one) => looksLike(whole, bare(one.code))));
    return { typed: words.length > 1 ? text.trim().slice(0, 40) : whole, found: [], near: near.slice(0, 4) };
  }

  /** Each code once, as it was issued last. */
  function last(found) {
    return [...new Map(found.map((one) => [one.code, one])).values()];
  }

  function digits(word) {
    return word.replaceAll('O', '0').replaceAll(/[IL]/g, '1');
  }

  function bare(text) {
    return text.replace(/[^0-9A-Z]/gi, '').toUpperCase();
  }

  /** Whether a word is this code with letters that no code has in place of some that look alike. */
  function misreadAs(word, code) {
    return word.length === code.length && [...word].every((letter, i) => letter === code[i] || MISREAD[letter]?.includes(code[i]));
  }

  function looksLike(word, code) {
    if (Math.abs(word.length - code.length) > 1) return false;
    if (word.length !== code.length) return word.startsWith(code) || code.startsWith(word);
    const wrong = [...word].map((letter, i) => [letter, code[i]]).filter(([a, b]) => a !== b && !MISREAD[a]?.includes(b));
    return wrong.length === 1 || wrong.every(([a, b]) => ALIKE.some((group) => group.includes(a) && group.includes(b)));
  }

  function listed(changed) {
    const words = Array.isArray(changed) ? changed.join('; ') : changed;
    return words || 'not said';
  }

  /* --- showing --- */

  function panel(state, word, content, doubtful = false) {
    const shape = draw('svg', { viewBox: '0 0 64 64', 'aria-hidden': 'true' }, draw('path', { d: SHAPES[state] }));
    return make('div', { class: `sb-answer ${state}${doubtful ? ' doubtful' : ''}` }, shape,
      make('div', {}, make('p', { class: 'sb-answer__word' }, word), content));
  }

  function what(sheet) {
    const named = make('a', { href: link(sheet.href) }, sheet.sheet);
    if (sheet.kind === 'plans') return make('p', {}, named, ', ', code(sheet.code), '.');
    return sheet.kind === 'changeover'
      ? make('p', {}, 'Changeover sheet and job cards: ', named, ` on ${sheet.line}, ${sheet.crew}, `, code(sheet.code), '.')
      : make('p', {}, 'Setup sheet: ', named, ` on ${sheet.line}, revision ${sheet.revision}, `, code(sheet.code), '.');
  }

  function code(text) {
    return make('span', { class: 'sb-code' }, text);
  }

  /** The current setup sheets of each line, where the page does not list them itself. */
  function lists(sheets) {
    const setups = sheets.filter((one) => one.kind === 'setup');
    const lines = [...new Set(setups.map((one) => one.line))].sort();
    return lines.map((line) => {
      const rows = setups.filter((one) => one.line === line && one.state === 'current')
        .sort((a, b) => a.sheet.localeCompare(b.sheet, 'en', { numeric: true }));
      const id = `line-${line.toLowerCase().replace(/[^a-z0-9]+/g, '-')}`;
      return make('section', { 'aria-labelledby': id }, make('h2', { id }, `Current on ${line}`),
        make('table', { class: 'sb-table sb-codes' },
          make('thead', {}, make('tr', {}, ['Code', 'Sheet', 'Revision', 'Issued'].map((one) => make('th', { scope: 'col' }, one)))),
          make('tbody', {}, rows.map((one) => make('tr', {}, make('td', {}, code(one.code)),
            make('td', {}, make('a', { href: link(one.href) }, one.sheet)), make('td', {}, one.revision), make('td', {}, shown(one.since)))))));
    });
  }
})();
