// The cards for cutting and hanging: one for each surface, pieces ticked off as they hang.
class CardsView extends SyncedView {
  constructor(root) {
    super(root, "hanging");
    this.shown = "";
  }

  draw() {
    if (!this.data) return;
    this.drawState();
    const list = this.root.querySelector(".list");
    // the words of the cards change only when the plan does: then they are made anew
    const words = JSON.stringify(this.data.cards.map((card) => [card.id, card.head, card.before, card.pieces.map((piece) => [piece.number, piece.head, piece.lines, piece.moved])]));
    if (words !== this.shown) {
      const open = new Set([...list.querySelectorAll("details.card[open]")].map((node) => node.dataset.id));
      list.replaceChildren(...this.data.cards.map((card) => this.makeCard(card)));
      for (const node of list.children) node.open = open.has(node.dataset.id);
      this.shown = words;
      if (!open.size) this.openNext(list);
    }
    for (const card of this.data.cards) this.drawCard(list, card);
  }

  openNext(list) {
    const next = this.data.cards.find((card) => card.pieces.some((piece) => !this.isUp(piece)));
    for (const node of list.children) node.open = next !== undefined && node.dataset.id === next.id;
  }

  // Whether a piece hangs, as said last: by a tick, or by the board being spoiled.
  isUp(piece) {
    let best = null;
    for (const tap of this.outbox.taps()) {
      if (tap.line !== String(piece.number)) continue;
      if (!best || tap.clock > best.clock || (tap.clock === best.clock && tap.id > best.id)) best = tap;
    }
    return best ? best.what === "hung" && best.change > 0 : piece.hung;
  }

  makeCard(card) {
    const node = element("details", "card");
    node.dataset.id = card.id;
    const summary = element("summary");
    const head = element("span", "head");
    head.textContent = card.head;
    summary.append(head, element("span", "progress"));
    const before = element("ul", "before");
    before.append(...card.before.map((text) => listed(text)));
    node.append(summary, before, ...card.pieces.map((piece) => this.makePiece(piece)));
    return node;
  }

  makePiece(piece) {
    const node = element("article", "piece");
    node.dataset.piece = String(piece.number);
    const head = element("h3");
    head.textContent = piece.head;
    node.append(head);
    if (piece.moved) {
      const moved = element("p", "moved");
      moved.textContent = this.say("moved");
      node.append(moved);
    }
    const lines = element("ul");
    lines.append(...piece.lines.map((text) => listed(text)));
    const hung = this.button("hung", () => this.tap(String(piece.number), "hung", node.classList.contains("up") ? 0 : 1));
    const ask = element("div", "ask");
    const spoil = this.button("spoil", () => ask.classList.toggle("open"));
    spoil.textContent = this.say("spoiled");
    const question = element("p");
    question.textContent = this.say("spoiled_what");
    const answers = element("div", "buttons");
    for (const [name, change] of [["piece_only", 1], ["whole_sheet", 2]]) {
      const answer = this.button(name, () => {
        ask.classList.remove("open");
        this.tap(String(piece.number), "spoiled", change);
      });
      answer.textContent = this.say(name);
      answers.append(answer);
    }
    const no = this.button("nothing", () => ask.classList.remove("open"));
    no.textContent = this.say("nothing");
    answers.append(no);
    ask.append(question, answers);
    const buttons = element("div", "buttons");
    buttons.append(hung, spoil);
    node.append(lines, buttons, ask);
    return node;
  }

  button(name, act) {
    const node = element("button", name);
    node.type = "button";
    node.addEventListener("click", act);
    return node;
  }

  drawCard(list, card) {
    const node = [...list.children].find((child) => child.dataset.id === card.id);
    let up = 0;
    for (const piece of card.pieces) {
      const isUp = this.isUp(piece);
      up += isUp ? 1 : 0;
      const shown = node.querySelector(`[data-piece="${piece.number}"]`);
      shown.classList.toggle("up", isUp);
      put(shown, ".hung", isUp ? this.say("take_down") : this.say("is_up"));
      shown.querySelector(".hung").setAttribute("aria-pressed", String(isUp));
    }
    node.classList.toggle("done", up === card.pieces.length);
    put(node, ".progress", this.say("progress", { n: up, of: card.pieces.length }));
  }
}

function listed(text) {
  const node = element("li");
  node.textContent = text;
  return node;
}

export default function ({ parentElement, data, setStateValue }) {
  const make = () => new CardsView(parentElement.querySelector(".cards"));
  return showIn(parentElement, data, setStateValue, make);
}
