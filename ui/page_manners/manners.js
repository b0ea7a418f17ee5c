// What the page around our own parts does not do by itself.
// The upload field says it is mere decoration and yet has a name and takes the focus: a screen reader
// must choose which to believe (axe-core: presentation-role-conflict). It is a named region.

const seen = new WeakSet();
const came = new WeakMap(); // files on an upload field, in the order they came
const worded = new WeakSet(); // reasons that stand in our words already
let turn = 0;
let said = {}; // what stands on an upload field, in the user's language

// The page around our parts speaks English only; the text nodes stay the page's own.
function translate(node) {
  const walk = document.createTreeWalker(node, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const text = walk.currentNode;
    const own = text.nodeValue
      .replace(/^Upload$/, said.upload)
      .replace(/(\d+)MB per file/, said.limit)
      .replace(/\bimage\b/, said.picture);
    if (text.nodeValue !== own) text.nodeValue = own;
  }
}

// A file that the browser refuses only gets a red sign, and its reason is for screen readers alone and in
// English. The reason is shown (look.RULES) in our words, and a refused file makes room for the next one.
function sayRefusals(field) {
  const chips = [...field.querySelectorAll('[data-testid="stFileChip"]')];
  chips.filter((chip) => !came.has(chip)).forEach((chip) => came.set(chip, ++turn));
  const last = Math.max(...chips.map((chip) => came.get(chip)));
  const picture = field.querySelector("input")?.accept.includes("image/");
  chips
    .filter((chip) => chip.getAttribute("aria-invalid") === "true")
    .forEach((chip) => {
      if (came.get(chip) < last) chip.querySelector('[data-testid="stFileChipDeleteBtn"] button')?.click();
      const [text, ...rest] = chip.querySelector('[role="alert"]')?.childNodes ?? [];
      if (!text || worded.has(text)) return;
      worded.add(text);
      const tooBig = /smaller|larger|exceed/.test(chip.querySelector('[role="alert"]').textContent);
      text.nodeValue = tooBig ? said.too_big : picture ? said.no_picture : said.not_taken;
      rest.forEach((node) => (node.nodeValue = ""));
    });
}

function tidy(root) {
  root.querySelectorAll('[data-testid="stFileUploaderDropzone"]').forEach(sayRefusals);
  root.querySelectorAll('[data-testid="stFileUploaderDropzone"]').forEach(translate);
  root.querySelectorAll('[data-testid="stFileUploaderDropzone"][role="presentation"]').forEach((node) => {
    node.setAttribute("role", "group");
  });
  // an address without a screen: the page says so itself, in the user's language, and shows the way
  root.querySelectorAll('[role="dialog"]').forEach((node) => {
    if (node.querySelector("h2")?.textContent === "Page not found") node.querySelector("button")?.click();
  });
}

// The page puts our styles in with its other elements and now and then loses them there; in the head they stay.
function keepRules() {
  let node = document.getElementById("own-rules");
  if (!node) {
    node = document.createElement("style");
    node.id = "own-rules";
    document.head.append(node);
  }
  if (node.textContent !== RULES) node.textContent = RULES;
}

export default function ({ data }) {
  document.documentElement.lang = data.language;
  said = data.said;
  keepRules();
  if (seen.has(document.body)) return;
  seen.add(document.body);
  tidy(document);
  new MutationObserver(() => tidy(document)).observe(document.body, { childList: true, subtree: true });
}
