// The page of sliders. All physics and all drawings come from the Go program in
// the page; this script only carries slider positions there and results back.
(() => {
	"use strict";
	const byID = (id) => document.getElementById("play-" + id);
	const base = byID("base").textContent;
	const inputs = [...document.querySelectorAll("#play-form input")];

	const trouble = (text) => {
		byID("trouble").textContent = text;
		byID("trouble").hidden = false;
	};

	const show = () => {
		const sliders = {};
		for (const input of inputs) {
			sliders[input.dataset.field] = Number(input.value) * Number(input.dataset.perUnit);
			const sign = input.dataset.unit === "%" && input.value > 0 ? "+" : "";
			const text = sign + input.value + " " + input.dataset.unit;
			byID(input.dataset.field + "-out").textContent = text;
			input.setAttribute("aria-valuetext", text);
		}
		const width = Math.max(300, Math.min(720, byID("curve").clientWidth));
		const view = JSON.parse(conewrightView(base, JSON.stringify(sliders), width));
		if (view.error) {
			trouble(view.error);
			return;
		}
		byID("trouble").hidden = true;
		byID("words").textContent = view.words;
		byID("curve").innerHTML = view.curve;
		byID("line").innerHTML = view.line;
		for (const row of view.rows) byID("now-" + row.id).textContent = row.now;
	};

	// Several events may come in one frame; the last one counts.
	let asked = false;
	const ask = () => {
		if (asked) return;
		asked = true;
		requestAnimationFrame(() => {
			asked = false;
			show();
		});
	};

	globalThis.conewrightReady = () => {
		for (const input of inputs) input.addEventListener("input", ask);
		byID("reset").addEventListener("click", () => {
			for (const input of inputs) input.value = 0;
			ask();
		});
		addEventListener("resize", ask);
		byID("curve").closest("details")?.addEventListener("toggle", ask); // hidden drawings have no width
		byID("form").hidden = false;
		show();
		document.documentElement.dataset.play = "ready";
	};

	const start = async () => {
		const packed = Uint8Array.from(atob(byID("module").textContent), (c) => c.charCodeAt(0));
		const plain = new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"));
		const go = new Go();
		const { instance } = await WebAssembly.instantiate(await new Response(plain).arrayBuffer(), go.importObject);
		go.run(instance);
	};
	start().catch((err) => trouble("The sliders cannot start in this browser (" + err.message + "). A browser of 2023 or later is needed."));
})();
