// Starts a page of the kit by itself, once, and only where its code is the shipped code.
// A notebook without the kit's mark in its metadata is not touched. No build step: the file is
// its own federation container, and takes JupyterLab's shared modules as built extensions do.
(() => {
  const NAME = 'edmkit-page';

  const STYLE = `
    .edmkit-folded .jp-CodeCell .jp-Cell-inputWrapper,
    .edmkit-folded .jp-OutputPrompt, .edmkit-folded .jp-InputPrompt,
    .edmkit-folded .jp-OutputCollapser, .edmkit-folded .jp-InputCollapser,
    .edmkit-folded .jp-Notebook-footer, .edmkit-folded:not(.edmkit-failed) .edmkit-check,
    .edmkit-plain-lab { display: none !important; }
    .edmkit-opening .jp-OutputArea { visibility: hidden; }
    .edmkit-line { box-sizing: border-box; min-height: 40px; padding: 0 16px; display: flex;
      gap: 16px; align-items: center; font-size: 18px; color: #111; background: #fff;
      border-bottom: 1px solid #999; }
    .edmkit-line span { flex: 1; }
    .edmkit-line button { padding: 4px 14px; font-size: 16px; white-space: nowrap; }`;

  const SAY = {
    starting: ['Starting this page ...'],
    live: [''],
    edited: ['The code of this page was changed, so it did not start by itself. '
      + 'To start it press', 'Start this page'],
    error: ['The page stopped on an error, shown below. To try again press', 'Start again'],
    restarting: ['Python was restarted ...'],
    restarted: ['Python was restarted. To start this page again press', 'Start this page'],
    crashed: ['Python stopped twice, so the page waits. To try again press', 'Start this page'],
    detached: ['No Python is attached to this page. To start it press', 'Start this page'],
  };

  let scope;
  const shared = async name => (await Object.values(scope[name])[0].get())();

  function extensionFile(name) {
    const config = JSON.parse(document.getElementById('jupyter-config-data').textContent);
    return `${config.fullLabextensionsUrl}/${NAME}/static/${name}`;
  }

  async function codeHash(model) {
    if (!crypto.subtle) return 'none'; // a page over plain http from elsewhere: ask, never run
    const code = [...model.cells]
      .filter(cell => cell.type === 'code')
      .map(cell => cell.sharedModel.getSource().replace(/\r\n?/g, '\n'))
      .join('\0');
    const sum = await crypto.subtle.digest('SHA-256', new TextEncoder().encode(code));
    return Array.from(new Uint8Array(sum), byte => byte.toString(16).padStart(2, '0')).join('');
  }

  class Page {
    constructor(panel, lab) {
      Object.assign(this, { panel, lab, session: panel.sessionContext });
      this.life = 0; // one per kernel process
      this.crashes = 0;
      this.running = false;
      this.buildLine();
      this.fold(true);
      panel.addClass('edmkit-opening'); // what an earlier day saved is dead until the page runs
      this.hidePlainLabWords();
      this.keepKeys();
      this.session.statusChanged.connect((_, status) => this.kernelSays(status));
      this.opened();
    }

    buildLine() {
      const line = new this.lab.Widget();
      line.addClass('edmkit-line');
      const add = (tag, press) => {
        const node = line.node.appendChild(document.createElement(tag));
        if (press) node.addEventListener('click', press);
        return node;
      };
      this.line = line.node;
      this.words = add('span');
      this.words.setAttribute('role', 'status');
      this.go = add('button', () => this.run()); // a press is consent, whatever the code
      this.code = add('button', () => this.fold(!this.folded));
      this.panel.contentHeader.addWidget(line);
      this.say('starting');
    }

    say(state) {
      const [words, button] = SAY[state];
      this.line.dataset.state = state;
      this.words.textContent = words;
      this.go.textContent = button ?? '';
      this.go.hidden = !button;
    }

    fold(on) {
      this.folded = on;
      this.panel.toggleClass('edmkit-folded', on);
      this.code.textContent = on ? 'Show the code' : 'Hide the code';
      this.panel.toolbar.setHidden(on);
      if (!on) this.lab.NotebookActions.showAllCode(this.panel.content);
    }

    // The cell that says which button to press in a JupyterLab without this extension, and the
    // cells that check the page, as long as they find nothing wrong.
    hidePlainLabWords() {
      for (const cell of this.panel.content.widgets) {
        const role = cell.model.getMetadata('edmkit');
        if (role === 'plain lab') cell.addClass('edmkit-plain-lab');
        if (role === 'check') cell.addClass('edmkit-check');
      }
    }

    // JupyterLab takes plain keys for itself (arrows move between cells, x cuts one), also from a
    // list or a slider that has the focus. While the code is hidden they belong to the page.
    keepKeys() {
      window.addEventListener('keydown', event => {
        if (this.panel.content.node.contains(event.target))
          event.target.toggleAttribute('data-lm-suppress-shortcuts',
            this.folded && !event.ctrlKey && !event.metaKey);
      }, true);
    }

    async isShipped() {
      return (await this.lab.hashes).includes(await codeHash(this.panel.content.model));
    }

    // A question put while Python is being restarted can be lost: put it again until one is
    // answered; null after two minutes.
    async answerOf(question) {
      for (let tries = 0; tries < 40; tries++) {
        const pause = new Promise(done => { setTimeout(done, 3000); });
        const asked = (async () => question(this.session.session.kernel))().catch(() => pause);
        const reply = await Promise.race([asked, pause]);
        if (reply) return reply;
      }
      return null;
    }

    // Waits until the kernel answers; null: there is none.
    async kernelIsFresh() {
      await this.session.ready;
      if (!this.session.session?.kernel) return null;
      const reply = await this.answerOf(kernel => kernel.requestExecute({
        code: '', silent: true, store_history: false,
        user_expressions: { count: 'get_ipython().execution_count' },
      }).done);
      if (!reply) return null;
      this.answered = true;
      // JupyterLab now asks the new kernel which widgets it has. Had the page run before it is
      // answered, it would fetch each of them a second time: let its question go first.
      for (let turn = 0; turn < 3; turn++) await this.answerOf(kernel => kernel.requestCommInfo({}));
      return reply.content.user_expressions?.count?.data?.['text/plain'] === '1';
    }

    async opened() {
      try {
        await this.firstStep();
      } finally {
        this.panel.removeClass('edmkit-opening'); // whatever happened, outputs can be seen
      }
    }

    async firstStep() {
      const shipped = await this.isShipped();
      const fresh = await this.kernelIsFresh();
      const outputs = this.panel.content.widgets // a check's output is shipped with the page
        .some(cell => cell.model.outputs?.length && !cell.hasClass('edmkit-check'));
      if (fresh === null) this.say('detached');
      else if (!fresh && outputs) this.say('live'); // a reload: the running page comes back
      else if (shipped) this.run();
      else this.say('edited');
    }

    async run() {
      if (this.running) return;
      const life = this.life;
      this.running = true;
      this.say('starting');
      performance.mark('edmkit-run');
      const good = await this.lab.NotebookActions.runAll(this.panel.content, this.session)
        .catch(() => false);
      if (life !== this.life) return; // the kernel died meanwhile: the newer life speaks
      this.running = false;
      this.panel.toggleClass('edmkit-failed', !good); // an error in a check is shown
      this.say(good ? 'live' : 'error');
      // Saved, a reload brings the running page back and asks nothing.
      if (good && this.panel.context.contentsModel?.writable) this.panel.context.save();
    }

    // A crash says restarting, autorestarting, starting; the menu restarting, starting; a restart
    // from elsewhere only starting, as the first start does too.
    kernelSays(status) {
      if (status === 'autorestarting') this.crashes++;
      else if (status !== 'restarting' && !(status === 'starting' && this.answered)) return;
      const life = ++this.life;
      this.running = false;
      this.say('restarting');
      clearTimeout(this.timer);
      this.timer = setTimeout(() => this.reborn(life), 500);
    }

    async reborn(life) {
      const fresh = await this.kernelIsFresh();
      const shipped = await this.isShipped();
      if (life !== this.life) return;
      if (fresh === null) this.say('detached');
      else if (this.crashes > 1) {
        this.crashes = 0;
        this.say('crashed');
      } else if (shipped) this.run();
      else this.say('restarted');
    }
  }

  function clearWindow(shell) { // a page in a window of its own: nothing but the page
    for (const side of ['left', 'right'])
      if (shell.isSideTabBarVisible(side)) shell.toggleSideTabBarVisibility(side);
    for (const widget of shell.widgets('bottom')) widget.hide();
  }

  function activate(app, tracker, lab) {
    const style = document.createElement('style');
    style.textContent = STYLE;
    document.head.appendChild(style);
    lab.hashes = fetch(extensionFile('hashes.json'), { cache: 'no-cache' })
      .then(answer => answer.json())
      .catch(() => []);
    const welcome = async panel => {
      await panel.context.ready;
      if (!panel.content.model.getMetadata('edmkit')) return;
      if (app.shell.mode === 'single-document') clearWindow(app.shell);
      new Page(panel, lab);
    };
    tracker.forEach(welcome);
    tracker.widgetAdded.connect((_, panel) => welcome(panel));
  }

  async function plugin() {
    const { INotebookTracker, NotebookActions } = await shared('@jupyterlab/notebook');
    const { Widget } = await shared('@lumino/widgets');
    return {
      id: `${NAME}:plugin`,
      autoStart: true,
      requires: [INotebookTracker],
      activate: (app, tracker) => activate(app, tracker, { NotebookActions, Widget }),
    };
  }

  window._JUPYTERLAB = window._JUPYTERLAB ?? {};
  window._JUPYTERLAB[NAME] = {
    init: modules => { scope = modules; },
    get: async () => {
      const module = { __esModule: true, default: await plugin() };
      return () => module;
    },
  };
})();
