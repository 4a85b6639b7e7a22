'use strict';

/* A browser refuses `new Worker(…)` to a page opened from disk. The search needs no second thread, only a place of
   its own: an empty frame of this page, in which the worker's script is run and spoken to as if it were a worker. */
(function () {
  if (location.protocol !== 'file:') return;
  const QUERY = 2;
  const PAUSE = 100;

  class FrameWorker extends EventTarget {
    #frame = document.createElement('iframe');
    #waiting = [];
    #ready = false;
    #asking = 0;

    constructor(url) {
      super();
      const script = new URL(url, document.baseURI).href;
      this.#frame.hidden = true;
      this.#frame.title = 'search';
      this.#frame.setAttribute('aria-hidden', 'true');
      this.#frame.tabIndex = -1;
      this.#frame.srcdoc = '<!doctype html><title>search</title>';
      this.#frame.addEventListener('load', () => this.#run(script), { once: true });
      document.documentElement.append(this.#frame);
    }

    postMessage(data) {
      if (this.#ready) this.#tell(data);
      else this.#waiting.push(data);
    }

    terminate() {
      this.#frame.remove();
    }

    #run(script) {
      const inside = this.#frame.contentWindow;
      inside.postMessage = (data) => this.#answer(new MessageEvent('message', { data }));
      const element = inside.document.createElement('script');
      element.addEventListener('load', () => {
        if (inside.lunr) mend(inside.lunr);
        this.#ready = true;
        this.#waiting.splice(0).forEach((data) => this.#tell(data));
      });
      element.addEventListener('error', () => this.#answer(new Event('error')));
      element.src = script;
      inside.document.head.append(element);
    }

    /** Here a question holds up the page, so one is asked at a pause in typing and not for every letter. */
    #tell(data) {
      if (data?.type !== QUERY) return this.#pass(data);
      clearTimeout(this.#asking);
      this.#asking = setTimeout(() => this.#pass({ ...data, data: withoutLooseEnds(data.data) }), PAUSE);
    }

    #pass(data) {
      const inside = this.#frame.contentWindow;
      if (inside) setTimeout(() => inside.dispatchEvent(new inside.MessageEvent('message', { data })));
    }

    #answer(event) {
      if (event.type === 'message' && this.onmessage) this.onmessage(event);
      this.dispatchEvent(event);
    }
  }

  /** The search library tells its nodes apart by letters and numbers run together, so words made of digits can be
      taken for one another: 4513 is found where there is none, and the whole question fails. */
  function mend(lunr) {
    lunr.TokenSet.prototype.toString = function () {
      this._str ??= Object.keys(this.edges).sort().reduce((str, label) => `${str}${label}${this.edges[label].id};`, this.final ? '1' : '0');
      return this._str;
    };
  }

  /** A question as far as it is typed: what is left of `tear-off` after five letters asks for `tear`, not for anything. */
  function withoutLooseEnds(text) {
    return text.replace(/[-+~^:*]+(?=\s|$)/g, '');
  }

  window.Worker = FrameWorker;
})();
