import { mount } from "svelte";
import App from "./App.svelte";
import "./style/type.css";
import "./style/base.css";
import "./style/list.css";
import "./style/case.css";
import "./style/routes.css";
import "./style/findings.css";
import "./style/kept.css";
import "./style/chair.css";
import "./style/drawings.css";
import "./style/tables.css";
import "./style/answer.css";
import "./style/media.css";
import "./style/print.css";

const target = document.getElementById("app");
if (target === null) throw new Error("the page has no place for the workbench");
mount(App, { target });
