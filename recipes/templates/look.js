// The page of `makeready look`: what the server says, drawn; nothing of it is decided here.
'use strict';

const byId = id => document.getElementById(id);
let version = 0, part = 0, state = null;

function element(tag, text, of = {}) {
  const made = Object.assign(document.createElement(tag), of);
  if (text !== undefined) made.textContent = text;
  return made;
}

async function ask(address) {
  const answer = await fetch(address);
  if (!answer.ok) throw new Error(address + ': ' + answer.status);
  return answer;
}

// --- The drawing: turned in plain WebGL; where there is none, far triangles first on a flat canvas.

const stage = { triangles: null, centre: [0, 0, 0], size: 1, lie: [1, 0, 0, 0, 1, 0, 0, 0, 1], yaw: 0.6, pitch: 0.5, near: 1 };

// The turn that points `up` upward.
function lying(up) {
  if (!up) return [1, 0, 0, 0, 1, 0, 0, 0, 1];
  const [x, y, z] = up;
  if (z < -0.999999) return [1, 0, 0, 0, -1, 0, 0, 0, -1];
  const k = 1 / (1 + z);
  return [1 - x * x * k, -x * y * k, -x, -x * y * k, 1 - y * y * k, -y, x, y, z];
}

function times(m, v) {
  return [0, 1, 2].map(r => m[3 * r] * v[0] + m[3 * r + 1] * v[1] + m[3 * r + 2] * v[2]);
}

function product(a, b) {
  const m = [];
  for (let r = 0; r < 3; r++) for (let c = 0; c < 3; c++) m.push(a[3 * r] * b[c] + a[3 * r + 1] * b[3 + c] + a[3 * r + 2] * b[6 + c]);
  return m;
}

// From the part's own axes to the screen: right, up, toward the eye.
function view() {
  const [cy, sy, cp, sp] = [Math.cos(stage.yaw), Math.sin(stage.yaw), Math.cos(stage.pitch), Math.sin(stage.pitch)];
  const turn = [cy, -sy, 0, sy, cy, 0, 0, 0, 1];
  const tilt = [1, 0, 0, 0, sp, cp, 0, -cp, sp];
  return product(tilt, product(turn, stage.lie));
}

function scale(canvas) {
  const short = Math.min(canvas.clientWidth, canvas.clientHeight);
  return stage.near * short / (stage.size || 1);
}

const SHADER = {
  vertex: 'attribute vec3 place, normal; uniform mat3 view; uniform vec3 centre; uniform vec2 grow; uniform float deep; varying vec3 n;' +
    'void main() { vec3 p = view * (place - centre); n = view * normal; gl_Position = vec4(p.xy * grow, -p.z * deep, 1.0); }',
  fragment: 'precision mediump float; varying vec3 n; uniform vec3 ink; void main() {' +
    ' float light = 0.35 + 0.65 * max(dot(normalize(n), normalize(vec3(-0.3, 0.6, 0.8))), 0.0); gl_FragColor = vec4(ink * light, 1.0); }',
};

let gl = null, flat = null, program = null;

function begin(canvas) {
  gl = canvas.getContext('webgl', { antialias: true });
  if (!gl) {
    flat = canvas.getContext('2d');
    return;
  }
  program = gl.createProgram();
  for (const [kind, text] of [[gl.VERTEX_SHADER, SHADER.vertex], [gl.FRAGMENT_SHADER, SHADER.fragment]]) {
    const shader = gl.createShader(kind);
    gl.shaderSource(shader, text);
    gl.compileShader(shader);
    gl.attachShader(program, shader);
  }
  gl.linkProgram(program);
  gl.useProgram(program);
  gl.enable(gl.DEPTH_TEST);
}

function take(bytes, drawn) {
  const places = new Float32Array(bytes);
  const normals = new Float32Array(places.length);
  const low = [Infinity, Infinity, Infinity], high = [-Infinity, -Infinity, -Infinity];
  for (let i = 0; i < places.length; i += 9) {
    const [ax, ay, az, bx, by, bz, cx, cy, cz] = places.subarray(i, i + 9);
    const u = [bx - ax, by - ay, bz - az], v = [cx - ax, cy - ay, cz - az];
    const n = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
    for (let corner = 0; corner < 3; corner++) normals.set(n, i + 3 * corner);
    for (let k = 0; k < 9; k++) {
      low[k % 3] = Math.min(low[k % 3], places[i + k]);
      high[k % 3] = Math.max(high[k % 3], places[i + k]);
    }
  }
  stage.triangles = places;
  stage.normals = normals;
  stage.centre = low.map((l, k) => (l + high[k]) / 2);
  stage.size = Math.hypot(...low.map((l, k) => high[k] - l)) || 1;
  stage.lie = lying(drawn.up);
  if (gl) {
    for (const [name, data] of [['place', places], ['normal', normals]]) {
      gl.bindBuffer(gl.ARRAY_BUFFER, gl.createBuffer());
      gl.bufferData(gl.ARRAY_BUFFER, data, gl.STATIC_DRAW);
      const at = gl.getAttribLocation(program, name);
      gl.enableVertexAttribArray(at);
      gl.vertexAttribPointer(at, 3, gl.FLOAT, false, 0, 0);
    }
  }
  draw();
}

function ink() {
  const [r, g, b] = getComputedStyle(document.documentElement).getPropertyValue('--part').trim().match(/[0-9a-f]{2}/gi).map(h => parseInt(h, 16));
  return [r / 255, g / 255, b / 255];
}

function draw() {
  const canvas = byId('part');
  if (!stage.triangles) return;
  const dots = window.devicePixelRatio || 1;
  canvas.width = canvas.clientWidth * dots;
  canvas.height = canvas.clientHeight * dots;
  const turned = view(), grow = scale(canvas);
  if (gl) {
    const at = name => gl.getUniformLocation(program, name);
    gl.viewport(0, 0, canvas.width, canvas.height);
    gl.clearColor(0, 0, 0, 0);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    const columns = [0, 3, 6, 1, 4, 7, 2, 5, 8].map(i => turned[i]);
    gl.uniformMatrix3fv(at('view'), false, columns);
    gl.uniform3fv(at('centre'), stage.centre);
    gl.uniform2f(at('grow'), 2 * grow / canvas.clientWidth, 2 * grow / canvas.clientHeight);
    gl.uniform1f(at('deep'), 1 / (stage.size || 1));
    gl.uniform3fv(at('ink'), ink());
    gl.drawArrays(gl.TRIANGLES, 0, stage.triangles.length / 3);
  } else {
    flatly(canvas, turned, grow * dots);
  }
  name(canvas, turned, grow);
  canvas.dataset.drawn = gl ? 'webgl' : 'flat';
}

function flatly(canvas, turned, grow) {
  const all = [];
  const [r, g, b] = ink().map(c => 255 * c);
  for (let i = 0; i < stage.triangles.length; i += 9) {
    const corners = [0, 3, 6].map(k => times(turned, [0, 1, 2].map(a => stage.triangles[i + k + a] - stage.centre[a])));
    const n = times(turned, stage.normals.subarray(i, i + 3));
    if (n[2] > 0) all.push([corners, n, corners[0][2] + corners[1][2] + corners[2][2]]);
  }
  all.sort((a, b) => a[2] - b[2]);
  for (const [corners, n] of all) {
    const light = 0.35 + 0.65 * Math.max((-0.3 * n[0] + 0.6 * n[1] + 0.8 * n[2]) / (1.044 * Math.hypot(...n)), 0);
    flat.fillStyle = flat.strokeStyle = `rgb(${r * light},${g * light},${b * light})`;
    flat.beginPath();
    for (const [x, y] of corners) flat.lineTo(canvas.width / 2 + x * grow, canvas.height / 2 - y * grow);
    flat.closePath();
    flat.fill();
    flat.stroke();
  }
}

// Names of holes and of what hangs over, where they are.
function name(canvas, turned, grow) {
  const drawn = state.parts[part].triangles;
  const names = byId('names');
  names.replaceChildren();
  for (const place of [...drawn.holes, ...drawn.regions].filter(p => p.name)) {
    const [x, y] = times(turned, place.at.map((c, k) => c - stage.centre[k]));
    const label = element('span', place.name);
    label.style.left = canvas.clientWidth / 2 + x * grow + 'px';
    label.style.top = canvas.clientHeight / 2 - y * grow + 'px';
    names.append(label);
  }
}

function turnable(canvas) {
  const KEYS = { ArrowLeft: [-0.15, 0], ArrowRight: [0.15, 0], ArrowUp: [0, 0.15], ArrowDown: [0, -0.15] };
  canvas.addEventListener('keydown', event => {
    const by = KEYS[event.key];
    if (by) [stage.yaw, stage.pitch] = [stage.yaw + by[0], stage.pitch + by[1]];
    else if (event.key === '+') stage.near *= 1.15;
    else if (event.key === '-') stage.near /= 1.15;
    else if (event.key === 'Home') Object.assign(stage, { yaw: 0.6, pitch: 0.5, near: 1 });
    else return;
    event.preventDefault();
    draw();
  });
  let held = null;
  canvas.addEventListener('pointerdown', event => { held = [event.clientX, event.clientY]; canvas.setPointerCapture(event.pointerId); });
  canvas.addEventListener('pointerup', () => { held = null; });
  canvas.addEventListener('pointermove', event => {
    if (!held) return;
    stage.yaw += (event.clientX - held[0]) / 120;
    stage.pitch += (event.clientY - held[1]) / 120;
    held = [event.clientX, event.clientY];
    draw();
  });
  canvas.addEventListener('wheel', event => { event.preventDefault(); stage.near *= event.deltaY < 0 ? 1.1 : 1 / 1.1; draw(); }, { passive: false });
}

// --- Numbers: a slider for each, with marks where the choice turns.

function slider(along, nth) {
  const ratio = along.offset === 0;
  const [low, high] = ratio ? [Math.log(along.low), Math.log(along.high)] : [along.low, along.high];
  const share = si => ((ratio ? Math.log(si) : si) - low) / (high - low || 1);
  const value = s => { const at = low + s * (high - low); return ratio ? Math.exp(at) : Math.round(at - along.offset) + along.offset; };
  const label = element('label', along.name + ' ');
  const marks = element('datalist', undefined, { id: 'marks-' + nth });
  along.stretches.slice(0, -1).forEach(s => marks.append(element('option', undefined, { value: Math.round(1000 * share(s.to)), label: s.words })));
  const input = element('input', undefined, { type: 'range', min: 0, max: 1000, value: Math.round(1000 * share(along.stated)) });
  input.setAttribute('list', marks.id);
  const told = element('output');
  const tell = () => {
    const here = value(input.value / 1000);
    const last = along.stretches.length - 1;
    const at = along.stretches.findIndex((s, i) => i === last || here <= s.to * (1 + 1e-9));
    const stretch = along.stretches[at];
    told.textContent = (stretch.made || 'nothing that this workshop has') + (at < last ? ', until ' + stretch.words : '');
    input.setAttribute('aria-valuetext', told.textContent);
  };
  input.addEventListener('input', tell);
  input.addEventListener('change', async () => {
    const found = await (await ask('/suppose?number=' + nth + '&value=' + value(input.value / 1000))).json();
    byId('suppose').hidden = false;
    byId('suppose').textContent = (found.line || '') + '\n' + found.text;
  });
  tell();
  label.append(input, told, marks);
  return label;
}

async function numbers() {
  const mine = version;
  byId('numbers-note').textContent = 'being worked out';
  const found = await (await ask('/numbers')).json();
  if (mine !== version) return;
  byId('numbers').replaceChildren(...found.map(slider));
  byId('numbers-note').textContent = found.length ? 'all else as the spec says; a mark is where the choice turns' : 'the spec states no number that decides';
}

// --- The whole.

async function show() {
  const now = state.parts[part];
  byId('findings').replaceChildren(...state.findings.map(f => {
    const hints = f.hints.length ? ' — ' + f.hints.join('; ') : '';
    return element('li', f.place + ' ' + f.severity + ': ' + f.message + hints, { className: f.severity });
  }));
  if (!state.findings.length) byId('findings').append(element('li', 'none'));
  byId('parts').replaceChildren(...(state.parts.length < 2 ? [] : state.parts.map((p, i) => {
    const button = element('button', p.name, { type: 'button' });
    button.setAttribute('aria-pressed', i === part);
    button.addEventListener('click', () => { part = i; show(); });
    return button;
  })));
  if (!now) {
    byId('status').textContent = 'the spec has mistakes: see the findings';
    return;
  }
  document.title = now.name + ': makeready';
  byId('name').textContent = now.name;
  byId('status').textContent = now.status;
  byId('sheet').innerHTML = now.html;
  byId('part').setAttribute('aria-label', now.name + ' as it lies on the bed. ' + now.headline);
  byId('places').replaceChildren(...[...now.triangles.holes, ...now.triangles.regions].map(p => element('li', p.words)));
  take(await (await ask('/mesh?part=' + part)).arrayBuffer(), now.triangles);
}

async function load() {
  state = await (await ask('/state')).json();
  version = state.version;
  part = Math.min(part, Math.max(state.parts.length - 1, 0));
  await show();
  document.body.dataset.version = version;
}

async function watch() {
  for (;;) {
    try {
      const later = await (await ask('/wait?since=' + version)).json();
      if (later.version > version) {
        await load();
        numbers();
      }
    } catch (gone) {
      byId('status').textContent = 'makeready look has ended';
      return;
    }
  }
}

begin(byId('part'));
turnable(byId('part'));
addEventListener('resize', draw);
// `/?still` is looked at once, for a picture of it.
load().then(() => { if (location.search !== '?still') watch(); return numbers(); }).catch(why => { byId('status').textContent = String(why); });
