"use strict";
// The static drawing with its heading and its legend, as a picture to send to the team.
const picture = (() => {
  const SVG = "http://www.w3.org/2000/svg";
  const EDGE = 20;
  const SCALE = 2; // so that it stays sharp on a phone
  const INK = "#16222b";
  const FAMILY = "system-ui, 'Segoe UI', Roboto, 'Liberation Sans', Arial, sans-serif";

  const add = (parent, name, attributes, text) => {
    const made = document.createElementNS(SVG, name);
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
    if (text) made.textContent = text;
    parent.append(made);
    return made;
  };
  const pen = document.createElement("canvas").getContext("2d");
  const wrapped = (text, font, width) => {
    pen.font = font;
    const lines = [""];
    for (const word of text.split(/\s+/)) {
      const longer = `${lines.at(-1)} ${word}`.trim();
      if (pen.measureText(longer).width <= width) lines[lines.length - 1] = longer;
      else lines.push(word);
    }
    return lines;
  };
  const write = (svg, text, { x, y, size, width, bold = 400, fill = INK }) => {
    for (const line of wrapped(text, `${bold} ${size}px ${FAMILY}`, width)) {
      y += 1.3 * size;
      add(svg, "text", { x, y, fill, "font-size": size, "font-weight": bold }, line);
    }
    return y;
  };
  const writeLegend = (svg, top, width) => {
    const items = [...document.querySelectorAll(".legend li")].filter((item) => item.dataset.drawn !== undefined);
    const columns = 3;
    const wide = width / columns;
    let y = top;
    for (let first = 0; first < items.length; first += columns) {
      const bottoms = items.slice(first, first + columns).map((item, column) => {
        const x = EDGE + column * wide;
        const swatch = item.querySelector("svg").cloneNode(true);
        for (const [key, value] of Object.entries({ x, y: y + 4, width: 36, height: 22 })) swatch.setAttribute(key, value);
        svg.append(swatch);
        const words = [...item.querySelector("span").childNodes].filter((node) => node.className !== "when-off");
        const told = words.map((node) => node.textContent.trim()).filter(Boolean).join(", ");
        return write(svg, told, { x: x + 44, y: y + 2, size: 13, width: wide - 60 });
      });
      y = Math.max(y + 28, ...bottoms);
    }
    return y;
  };

  const compose = () => {
    const drawing = document.querySelector("svg.drawing");
    const { width, height } = drawing.viewBox.baseVal;
    const across = width + 2 * EDGE;
    const svg = document.createElementNS(SVG, "svg");
    svg.setAttribute("font-family", FAMILY);
    svg.append(document.querySelector(".definitions defs").cloneNode(true));
    add(svg, "rect", { width: "100%", height: "100%", fill: "#fff" });
    const said = (selector) => document.querySelector(selector).textContent;
    let y = write(svg, said("h1"), { x: EDGE, y: 8, size: 24, bold: 700, width });
    y = write(svg, said(".lead"), { x: EDGE, y: y + 4, size: 16, width });
    y = write(svg, said(".date"), { x: EDGE, y: y + 2, size: 13, width, fill: "#4c5b66" });
    const map = drawing.cloneNode(true);
    for (const [key, value] of Object.entries({ x: EDGE, y: y + 12, width, height })) map.setAttribute(key, value);
    svg.append(map);
    y = writeLegend(svg, y + height + 20, width) + EDGE;
    for (const [key, value] of Object.entries({ width: across, height: y, viewBox: `0 0 ${across} ${y}` })) svg.setAttribute(key, value);
    return { svg, width: across, height: y };
  };
  const paint = async () => {
    const { svg, width, height } = compose();
    const image = new Image();
    image.src = `data:image/svg+xml;charset=utf-8,${encodeURIComponent(new XMLSerializer().serializeToString(svg))}`;
    await image.decode();
    const canvas = document.createElement("canvas");
    Object.assign(canvas, { width: Math.round(SCALE * width), height: Math.round(SCALE * height) });
    canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
    return new Promise((done) => canvas.toBlob(done, "image/png"));
  };
  const save = async (name) => {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(await paint());
    link.download = name;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 1000);
  };
  const offer = () => {
    const button = document.querySelector(".picture");
    button.hidden = false;
    button.addEventListener("click", () => save(`${document.title.replace(/[^\p{L}\p{N}]+/gu, "-")}.png`));
  };
  return { offer };
})();
