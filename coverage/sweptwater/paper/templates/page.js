"use strict";
const paper = (() => {
  const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
  if (still) L.Map.mergeOptions({ zoomAnimation: false, fadeAnimation: false, markerZoomAnimation: false, inertia: false });
  // Shapes are no stops of the keyboard: there are hundreds, and the rows lead to each of them.
  L.Layer.include({ _addFocusListeners() {} });
  // A line out of sight becomes a path of no length, and its arrowhead would still be drawn.
  const drawPoly = L.SVG.prototype._updatePoly;
  L.SVG.include({
    _updatePoly(layer, closed) {
      drawPoly.call(this, layer, closed);
      layer._path.style.visibility = layer._parts.length ? "" : "hidden";
    },
  });
  const wide = matchMedia("(min-width: 960px)");
  const byKey = new Map(); // a row's key -> the shapes that have it
  const labels = [];
  let map, home, chosen = null;

  // --- points: a symbol drawn as a path, so that it takes a look as any path does
  const outlines = {
    square: (x, y, r) => `M${x - r} ${y - r}h${2 * r}v${2 * r}h${-2 * r}z`,
    triangle: (x, y, r) => `M${x} ${y - r}l${r} ${2 * r}h${-2 * r}z`,
    diamond: (x, y, r) => `M${x} ${y - r}l${r} ${r}l${-r} ${r}l${-r} ${-r}z`,
    cross: (x, y, r) => `M${x - r} ${y - r}l${2 * r} ${2 * r}m0 ${-2 * r}l${-2 * r} ${2 * r}`,
  };
  const Point = L.CircleMarker.extend({
    _updatePath() {
      const outline = outlines[this.options.symbol];
      if (!outline || this._empty()) return L.CircleMarker.prototype._updatePath.call(this);
      this._renderer._setPath(this, outline(this._point.x, this._point.y, this._radius));
    },
  });
  const point = (feature, at) => new Point(at);

  const latlng = ([lon, lat]) => L.latLng(lat, lon);
  const element = (tag, className, text, parent) => {
    const made = L.DomUtil.create(tag, className, parent);
    if (text) made.textContent = text; // never as HTML: texts come from files
    return made;
  };

  // --- linking the map and the rows
  const clear = () => {
    if (!chosen) return;
    chosen.halo.remove();
    document.querySelectorAll("tr[aria-current]").forEach((row) => row.removeAttribute("aria-current"));
    chosen = null;
  };
  const choose = (key, popup) => {
    clear();
    const halo = L.featureGroup();
    for (const { shape } of byKey.get(key)) {
      for (const line of [{ color: "#fff", weight: 9 }, { color: "#16222b", weight: 4 }]) {
        const style = { ...line, opacity: 1, fill: false, interactive: false };
        const again = { style, interactive: false, pointToLayer: (_, at) => L.circleMarker(at, { ...style, radius: 13 }) };
        halo.addLayer(L.geoJSON(shape.toGeoJSON(), again));
      }
    }
    halo.addTo(map);
    chosen = { halo, popup };
    for (const row of document.querySelectorAll("tr[data-key]")) {
      if (row.dataset.key !== key) continue;
      row.setAttribute("aria-current", "true");
      const fold = row.closest("details.fold");
      if (fold) fold.open = true;
      if (popup && wide.matches && row.closest(".beside")) row.scrollIntoView({ block: "nearest" });
    }
  };
  const show = (key) => {
    const found = byKey.get(key);
    if (!found) return;
    const around = L.latLngBounds([]);
    for (const { shape, layer } of found) {
      const { view: own } = layersOf.find((entry) => entry.layer === layer);
      if (own && own !== view) setView(own);
      if (!map.hasLayer(layer)) map.addLayer(layer);
      around.extend(shape.getBounds ? shape.getBounds() : shape.getLatLng());
    }
    map.closePopup();
    choose(key, null);
    map.getContainer().scrollIntoView({ block: "nearest", behavior: still ? "auto" : "smooth" });
    const { shape, at } = (!key.endsWith("/") && found.find(({ shape }) => shape.getPopup())) || {};
    if (shape) map.once("moveend", () => { shape.openPopup(at && above(shape, at)); if (chosen) chosen.popup = shape.getPopup(); });
    map.fitBounds(around.pad(0.4), { maxZoom: home.zoom + 3, animate: !still });
  };
  const listenToRows = () => {
    for (const row of document.querySelectorAll("tr[data-key]")) {
      row.addEventListener("click", () => show(row.dataset.key)); // its button's clicks too
    }
  };

  // --- what a shape says
  const above = (shape, at) => { // an area's words stand on its upper edge, unless that is far off
    if (!(shape instanceof L.Polygon)) return at;
    const top = L.latLng(shape.getBounds().getNorth(), at.lng);
    const up = map.latLngToContainerPoint(at).y - map.latLngToContainerPoint(top).y;
    return up < 0.45 * map.getSize().y ? top : at;
  };
  const tell = (shape, layer, words) => {
    const { key, tip } = words;
    const at = words.at && latlng(words.at[0]);
    const upTo = (end) => key.slice(0, end + 1);
    const wholes = key ? [...key.matchAll(/\//g)].map(({ index }) => upTo(index)) : [];
    for (const row of key ? [key, ...wholes] : []) {
      if (!byKey.has(row)) byKey.set(row, []);
      byKey.get(row).push({ shape, layer, at });
    }
    if (tip) {
      const says = () => element("div", "words", tip);
      shape.bindPopup(says, { maxWidth: 250, autoPanPaddingTopLeft: [54, 54], autoPanPaddingBottomRight: [12, 12] });
      if (matchMedia("(hover: hover)").matches) {
        shape.bindTooltip(says, { sticky: true, className: "pointer" });
        shape.on("tooltipopen", () => shape.isPopupOpen() && shape.closeTooltip());
        shape.on("popupopen", () => shape.closeTooltip());
      }
    }
    if (key) {
      shape.on("click", (event) => {
        if (tip) shape.getPopup().setLatLng(above(shape, event.latlng));
        choose(key, shape.getPopup());
        L.DomEvent.stop(event);
      });
    }
  };

  // --- labels: names of areas first, then numbers, and none over another
  const addLabel = (shape, layer, words, kind) => {
    const isPoint = shape instanceof L.CircleMarker;
    const isArea = shape instanceof L.Polygon;
    const text = element("span", "", words.label);
    const holder = element("div");
    holder.append(text);
    const icon = L.divIcon({ className: `label ${kind} ${isArea ? "area" : ""}`, html: holder, iconSize: [0, 0] });
    const spots = words.at.map(latlng);
    const marker = L.marker(spots[0], { icon, interactive: false, keyboard: false });
    if (kind === "numbers" && words.key) {
      text.addEventListener("click", (event) => { L.DomEvent.stop(event); show(words.key); });
      text.addEventListener("mouseenter", () => shape.getTooltip() && shape.openTooltip(latlng(words.at[0])));
      text.addEventListener("mouseleave", () => shape.closeTooltip());
    }
    const rank = kind === "numbers" ? 1 : isArea ? 0 : 2;
    labels.push({ text, marker, layer, shape, spots, rank, isArea, gap: isPoint ? shape.options.radius + 4 : 0 });
  };
  const nudges = [[0, 0], [0, -1.15], [0, 1.15], [-0.7, 0], [0.7, 0]];
  const GRID = 7;
  const spotsInView = ({ shape, isArea, spots }, size) => { // close to, an area's own spots may lie out of sight
    const inView = spots.some((at) => map.getBounds().contains(at));
    if (!isArea || inView || !map.getBounds().intersects(shape.getBounds())) return spots;
    const path = shape._path;
    const found = [];
    for (let row = 1; row < GRID; row += 1) {
      for (let column = 1; column < GRID; column += 1) {
        const at = L.point((column / GRID) * size.x, (row / GRID) * size.y);
        const { x, y } = map.containerPointToLayerPoint(at);
        if (path.isPointInFill(new DOMPoint(x, y))) found.push([at.distanceTo(size.divideBy(2)), map.containerPointToLatLng(at)]);
      }
    }
    return found.sort((a, b) => a[0] - b[0]).map(([, at]) => at);
  };
  const places = ({ gap }, spots, w, h) => {
    const around = gap
      ? [[gap, -h / 2], [-gap - w, -h / 2], [-w / 2, -gap - h], [-w / 2, gap]]
      : nudges.map(([x, y]) => [(x - 0.5) * w, (y - 0.5) * h]);
    return around.flatMap(([dx, dy]) => spots.map((at) => ({ at, dx, dy })));
  };
  const boxOf = (at, dx, dy, w, h) => {
    const { x, y } = map.latLngToContainerPoint(at);
    return [x + dx - 2, y + dy - 2, x + dx + w + 2, y + dy + h + 2];
  };
  const meet = (a, b) => a[0] < b[2] && a[2] > b[0] && a[1] < b[3] && a[3] > b[1];
  const controlBoxes = () => {
    const { left, top } = map.getContainer().getBoundingClientRect();
    return [...map.getContainer().querySelectorAll(".leaflet-control:not(.leaflet-control-layers-expanded)")]
      .map((box) => box.getBoundingClientRect())
      .map((box) => [box.left - left, box.top - top, box.right - left, box.bottom - top]);
  };
  const symbolBoxes = () => labels.filter(({ layer, gap }) => gap && map.hasLayer(layer)).map(({ shape, gap }) => {
    const { x, y } = map.latLngToContainerPoint(shape.getLatLng());
    return [x - gap + 3, y - gap + 3, x + gap - 3, y + gap - 3];
  });
  const within = ([left, top, right, bottom], size) => left >= 0 && top >= 0 && right <= size.x && bottom <= size.y;
  const spotOf = (label, taken) => {
    const [w, h] = [label.text.offsetWidth, label.text.offsetHeight];
    const size = map.getSize();
    return places(label, spotsInView(label, size), w, h).map((place) => ({ ...place, box: boxOf(place.at, place.dx, place.dy, w, h) }))
      .find(({ box }) => within(box, size) && !taken.some((other) => meet(box, other)));
  };
  const placeLabels = () => {
    const printing = document.documentElement.classList.contains("printing");
    const taken = [...controlBoxes(), ...symbolBoxes()];
    for (const label of labels) {
      const on = map.hasLayer(label.layer);
      if (on !== map.hasLayer(label.marker)) on ? label.marker.addTo(map) : label.marker.remove();
      if (!on) continue;
      label.text.classList.remove("small");
      let free = spotOf(label, taken);
      if (!free && printing && label.rank === 0) { // nobody can zoom in on paper
        label.text.classList.add("small");
        free = spotOf(label, taken);
      }
      label.text.style.visibility = free ? "" : "hidden";
      if (!free) continue;
      taken.push(free.box);
      label.marker.setLatLng(free.at);
      label.text.style.transform = `translate(${free.dx}px, ${free.dy}px)`;
    }
  };

  // --- controls
  const control = (position, make) => L.Control.extend({ options: { position }, onAdd: make });
  const North = control("bottomright", () => {
    const box = element("div", "north");
    box.innerHTML = '<svg viewBox="0 0 34 44" width="34" height="44" role="img" aria-label="North is up"><path d="M17 2L27 28L17 22L7 28z" fill="#fff" stroke="#16222b" stroke-width="1.6" stroke-linejoin="round"/><path d="M17 2L17 22L7 28z" fill="#16222b"/><text x="17" y="42" text-anchor="middle" font-size="13" font-weight="700" fill="#16222b" stroke="#fff" stroke-width="3" paint-order="stroke">N</text></svg>';
    return box;
  });
  const Home = control("topleft", () => {
    const box = element("div", "leaflet-bar");
    const link = element("a", "home", "All", box);
    Object.assign(link, { href: "#", role: "button", title: "Show the whole water" });
    link.setAttribute("aria-label", "Show the whole water");
    L.DomEvent.disableClickPropagation(box);
    link.addEventListener("click", (event) => { event.preventDefault(); map.closePopup(); goHome(!still); });
    return box;
  });
  const Scale = control("bottomleft", () => {
    const box = element("div", "scale");
    element("span", "", "", box);
    element("div", "", "", box);
    return box;
  });
  const round = (most) => {
    const ten = 10 ** Math.floor(Math.log10(most));
    return ten * [5, 2, 1].find((step) => step * ten <= most);
  };
  const sizeEnds = (across) => { // where drifts crowd, only a small arrowhead is left of their ends
    map.getContainer().classList.toggle("far", across / 120 > 4);
  };
  const drawScale = (box, units) => {
    const size = map.getSize();
    if (!size.x) return;
    const across = map.distance(map.containerPointToLatLng([0, size.y / 2]), map.containerPointToLatLng([120, size.y / 2]));
    const [small, far] = units === "imperial" ? [[0.9144, "yards"], [1609.344, "mile"]] : [[1, "m"], [1000, "km"]];
    sizeEnds(across);
    const [unit, name] = across >= far[0] ? far : small;
    const length = round(across / unit);
    const plural = name === "mile" && length !== 1 ? "s" : "";
    box.firstChild.textContent = `${length.toLocaleString("en")} ${name}${plural}`;
    box.lastChild.style.width = `${(120 * length * unit) / across}px`;
  };

  // --- views: ways to show the same thing, one at a time
  let layersOf = []; // every layer with its key and its view
  let view = "";
  const elsewhere = (entry) => entry.view && entry.view !== view;
  const markLegend = () => {
    const byName = new Map(layersOf.map((entry) => [entry.key, entry]));
    for (const item of document.querySelectorAll(".legend li")) {
      const entry = byName.get(item.dataset.layer);
      item.classList.toggle("other", Boolean(elsewhere(entry)));
      item.classList.toggle("off", !elsewhere(entry) && !map.hasLayer(entry.layer));
    }
    for (const box of map.getContainer().querySelectorAll(".leaflet-control-layers-selector")) {
      const entry = layersOf.find(({ layer }) => L.stamp(layer) === box.layerId);
      if (entry) box.closest("label").hidden = Boolean(elsewhere(entry));
    }
  };
  const setView = (key) => {
    view = key;
    for (const entry of layersOf) {
      if (!entry.view) continue;
      entry.view === key ? map.addLayer(entry.layer) : map.removeLayer(entry.layer);
    }
    for (const radio of document.querySelectorAll(".views input")) radio.checked = radio.value === key;
    markLegend();
  };
  const offerViews = () => {
    const choice = document.querySelector(".views");
    if (!choice) return;
    choice.hidden = false;
    view = choice.querySelector("input").value;
    setView(view); // a browser that comes back may have kept another radio checked
    choice.addEventListener("change", (event) => setView(event.target.value));
  };

  const nameLayersButton = (container) => {
    const list = container.querySelector(".leaflet-control-layers");
    const button = container.querySelector(".leaflet-control-layers-toggle");
    const open = () => list.classList.contains("leaflet-control-layers-expanded");
    const tell = () => button.setAttribute("aria-expanded", String(open()));
    new MutationObserver(tell).observe(list, { attributes: true, attributeFilter: ["class"] });
    tell();
    button.addEventListener("keydown", (event) => {
      if (event.key !== "Enter" && event.key !== " ") return;
      event.preventDefault();
      button.click();
      list.querySelector("label:not([hidden]) input").focus();
    });
    list.addEventListener("keydown", (event) => {
      if (event.key !== "Escape") return;
      list.classList.remove("leaflet-control-layers-expanded");
      button.focus();
      event.stopPropagation();
    });
  };

  // --- the view
  const goHome = (animate) => {
    map.fitBounds(home.bounds, { padding: [14, 14], animate });
  };
  const atHome = () => Math.abs(map.getZoom() - home.zoom) < 0.01 && map.getCenter().distanceTo(home.center) < 100;
  const layersShown = () => layersOf.map(({ layer }) => map.hasLayer(layer)).join();
  const asOpened = () => atHome() && layersShown() === home.layers; // the static drawing shows the same
  const keepNear = () => map.setMinZoom(home.zoom - 1).setMaxBounds(home.bounds.pad(1));
  const fitPaper = () => {
    let before = null;
    const fit = () => map.fitBounds(before.seen, { padding: [6, 6], animate: false });
    addEventListener("beforeprint", () => {
      for (const fold of document.querySelectorAll(".missing details")) {
        if (fold.querySelectorAll("li").length < 6) fold.open = true; // more would take the map's place
      }
      if (before || asOpened()) return;
      before = { center: map.getCenter(), zoom: map.getZoom(), seen: atHome() ? home.bounds : map.getBounds() };
      document.documentElement.classList.add("printing");
      document.querySelectorAll("details.legend").forEach((details) => { details.open = true; });
      map.stop().setMaxBounds(null).setMinZoom(0);
      map.invalidateSize({ animate: false, pan: false });
      fit();
      map.on("resize", fit); // the sheet may still change it
      placeLabels();
    });
    addEventListener("afterprint", () => {
      if (!before) return;
      map.off("resize", fit);
      document.documentElement.classList.remove("printing");
      map.invalidateSize({ animate: false, pan: false });
      map.setView(before.center, before.zoom, { animate: false });
      keepNear();
      before = null;
      placeLabels();
    });
  };

  const start = (drawn, layers, setting) => {
    map = drawn;
    document.querySelector(".chart").classList.add("live");
    map.invalidateSize({ animate: false, pan: false });
    home = { bounds: L.latLngBounds(setting.bounds) };
    goHome(false);
    Object.assign(home, { zoom: map.getZoom(), center: map.getCenter() });
    keepNear();
    L.control.zoom().addTo(map);
    new Home().addTo(map);
    new North().addTo(map);
    const scale = new Scale().addTo(map).getContainer();

    layers.forEach((layer, index) => {
      const { features, labels: kind } = setting.layers[index];
      layer.eachLayer((shape) => {
        const words = features[shape.feature.id];
        tell(shape, layer, words);
        if (words.label) addLabel(shape, layer, words, kind);
      });
    });
    labels.sort((a, b) => a.rank - b.rank); // stable: the order of the layers within
    placeLabels();
    drawScale(scale, setting.units);
    map.on("moveend zoomend resize", () => drawScale(scale, setting.units));
    map.on("zoomend moveend layeradd layerremove", (event) => {
      if (!event.layer || layers.includes(event.layer)) placeLabels();
    });
    map.on("layeradd", (event) => { // what was switched on must not cover what lies above
      const from = layers.indexOf(event.layer);
      if (from >= 0) layers.slice(from + 1).forEach((layer) => map.hasLayer(layer) && layer.bringToFront());
    });
    layersOf = layers.map((layer, index) => ({ layer, key: setting.layers[index].key, view: setting.layers[index].view }));
    map.on("layeradd layerremove", (event) => layers.includes(event.layer) && markLegend());
    offerViews();
    markLegend();
    home.layers = layersShown();
    map.on("popupclose", (event) => chosen && event.popup === chosen.popup && clear());
    map.on("click", clear);
    document.addEventListener("keydown", (event) => {
      if (event.key !== "Escape") return;
      map.closePopup();
      clear();
    });
    const container = map.getContainer();
    container.setAttribute("role", "region");
    container.setAttribute("aria-label", "Map: arrow keys move it, plus and minus zoom");
    nameLayersButton(container);
    if (L.Browser.mobile) { // until the map is enlarged, a finger on it scrolls the page
      const drag = () => (map.getZoom() > home.zoom + 0.01 ? map.dragging.enable() : map.dragging.disable());
      map.on("zoomend", drag);
      drag();
    }
    map.on("focus", () => map.scrollWheelZoom.enable());
    map.on("blur", () => map.scrollWheelZoom.disable());
    listenToRows();
    fitPaper();
  };
  return { point, start };
})();
