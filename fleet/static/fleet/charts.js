/* Draws each figure of class "chart" from the table inside it, so that chart and table cannot say two things.

   A figure says what its axes are: data-x "number", "time" or "name", data-y "number" or "share", and
   their names. A column's head says how the column is drawn: data-draws "line", "steps", "dots", "bars" or
   "diagonal" (y = x), "low" and "high" for the edges of a band, or "from" and "to" for the ends of a whisker at
   each row; both of a pair bear the same data-band, its name.
   A cell's data-value is its number; a cell without one is a gap. Without JavaScript the table stands open. */

"use strict";

(() => {
  const INK = { line: "--ink", steps: "--link", dots: "--ink", bars: "--link", diagonal: "--ink-soft" };
  const OPACITY = [0.14, 0.24];
  const LEGEND_LINE = 22; // pixels, as are those below
  const LEGEND_MARK = 38;
  const LETTER = 6.8;

  function numberOf(cell) {
    const written = cell.dataset.value;
    return written === undefined || written === "" ? null : Number(written);
  }

  /* The columns of a figure's table: how each is drawn, what it is called, and its points [x, y]. */
  function columnsOf(figure) {
    const table = figure.querySelector("table");
    const rows = [...table.tBodies].flatMap((body) => [...body.rows]);
    const xs = rows.map((row) => (figure.dataset.x === "number" ? numberOf(row.cells[0]) : row.cells[0].dataset.value));
    return [...table.tHead.rows[0].cells]
      .map((head, place) => ({
        draws: head.dataset.draws,
        band: head.dataset.band,
        name: head.dataset.name || head.textContent.trim(),
        points: rows.map((row, index) => [xs[index], numberOf(row.cells[place])]),
      }))
      .filter((column) => column.draws);
  }

  /* A band is a clear area up to its low edge with a tinted one of its height upon it. */
  function bandSeries(low, high, ink, opacity) {
    const stack = `band ${low.band}`;
    const edge = { type: "line", stack, symbol: "none", silent: true, lineStyle: { opacity: 0 }, connectNulls: true };
    const height = high.points.map(([x, y], index) => [x, y === null ? null : y - low.points[index][1]]);
    return [
      { ...edge, data: low.points, tooltip: { show: false } },
      { ...edge, data: height, name: low.band, itemStyle: { color: ink, opacity }, areaStyle: { color: ink, opacity } },
    ];
  }

  /* One line that is broken between the rows. */
  function whiskerSeries(from, to, color) {
    const data = from.points.flatMap(([x, y], index) => (y === null ? [] : [[x, y], [x, to.points[index][1]], [x, null]]));
    return { type: "line", name: from.band, data, symbol: "rect", symbolSize: [9, 2], silent: true, lineStyle: { color, width: 1 }, itemStyle: { color } };
  }

  function pairsOf(columns, first, second) {
    const others = columns.filter((column) => column.draws === second);
    return columns
      .filter((column) => column.draws === first)
      .map((column) => [column, others.find((other) => other.band === column.band)]);
  }

  function seriesOf(columns, ink) {
    const bands = pairsOf(columns, "low", "high").flatMap(([low, high], number) =>
      bandSeries(low, high, ink("--link"), OPACITY[number % OPACITY.length]),
    );
    const whiskers = pairsOf(columns, "from", "to").map(([from, to]) => whiskerSeries(from, to, ink("--ink")));
    const drawn = columns
      .filter((column) => column.draws in INK)
      .map((column) => {
        const color = ink(INK[column.draws]);
        const data = column.draws === "diagonal" ? column.points.map(([x]) => [x, x]) : column.points;
        const shared = { name: column.name, data, itemStyle: { color }, silent: true };
        if (column.draws === "bars") return { ...shared, type: "bar", barMaxWidth: 28 };
        if (column.draws === "dots") return { ...shared, type: "scatter", symbolSize: 9 };
        const dashed = column.draws !== "line";
        return {
          ...shared,
          type: "line",
          step: column.draws === "steps" ? "end" : false,
          symbol: dashed ? "none" : "circle",
          symbolSize: 6,
          lineStyle: { color, width: column.draws === "diagonal" ? 1 : 2, type: dashed ? "dashed" : "solid" },
        };
      });
    return [...bands, ...whiskers, ...drawn];
  }

  /* How many lines the legend takes: its names wrap as words do, and the plot begins below them. */
  function legendLines(names, width) {
    let lines = 1;
    let used = 0;
    for (const name of names) {
      const wide = LEGEND_MARK + LETTER * name.length;
      if (used && used + wide > width) {
        lines += 1;
        used = 0;
      }
      used += wide;
    }
    return lines;
  }

  function optionOf(figure, plot) {
    const style = getComputedStyle(figure);
    const ink = (name) => style.getPropertyValue(name).trim();
    const text = { color: ink("--ink-soft"), fontFamily: style.fontFamily, fontSize: 12 };
    const lines = { axisLine: { lineStyle: { color: ink("--rule-strong") } }, splitLine: { lineStyle: { color: ink("--rule") } } };
    const type = { number: "value", time: "time", name: "category" }[figure.dataset.x];
    const share = (value) => `${Math.round(value * 100)} %`;
    const written = (kind) => ({ ...text, ...(kind === "share" ? { formatter: share } : {}) });
    const named = { nameLocation: "middle", nameTextStyle: text };
    const series = seriesOf(columnsOf(figure), ink);
    const names = series.map((one) => one.name).filter(Boolean);
    return {
      animation: false,
      textStyle: { fontFamily: style.fontFamily },
      aria: { enabled: true, label: { description: figure.querySelector("figcaption").textContent.trim() } },
      grid: { left: 56, right: 16, top: 16 + LEGEND_LINE * legendLines(names, plot.clientWidth), bottom: 48 },
      legend: { top: 0, left: 0, itemWidth: 22, textStyle: text, data: names },
      xAxis: { type, scale: true, name: figure.dataset.xName, nameGap: 28, ...named, ...lines, splitLine: { show: false }, axisLabel: { hideOverlap: true, ...written(figure.dataset.xAs) } },
      yAxis: { type: "value", min: 0, name: figure.dataset.yName, nameGap: 40, ...named, ...lines, axisLabel: written(figure.dataset.y) },
      series,
    };
  }

  function draw(figure) {
    const plot = figure.querySelector(".plot");
    plot.hidden = false;
    figure.querySelector("details").open = false;
    const chart = echarts.init(plot, null, { renderer: "svg" });
    const show = () => chart.setOption(optionOf(figure, plot), true);
    new ResizeObserver(() => {
      chart.resize();
      show();
    }).observe(plot);
    for (const media of ["(prefers-color-scheme: dark)", "print"]) matchMedia(media).addEventListener("change", show);
  }

  document.querySelectorAll("figure.chart").forEach(draw);
})();
