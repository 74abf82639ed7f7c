/** Loaded when a reader first asks for a live chart; leaves the drawing of charts for the page's own script. */
import { drawLiveChart } from "./live-chart.ts";

window.rigReportDraw = drawLiveChart;
