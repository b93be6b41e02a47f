// Takes the day along: the plan, steps in words and decision tables, for when the machine does not answer.

import { Book } from "./book.js";

const { address } = document.getElementById("take-along").dataset;
if (address) new Book().pull(address);
