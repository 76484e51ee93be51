// Looks at pages in a real browser: node check.cjs [--pictures DIR] PAGE.html...
//
// Every page is opened as it is on a desk, in the dark, on a phone, and at 200 % zoom. In each view the
// accessibility checker must find nothing, nothing may stick out sideways, and nothing may be asked for
// from outside the file. --pictures also writes what was seen, and the print as PDF.
'use strict';
const path = require('path');
const { pathToFileURL } = require('url');
const { chromium } = require('playwright-core');
const axe = require('axe-core').source;

// Zoom of 200 % halves the room that a page has.
const VIEWS = [
  { name: 'light', width: 1366, height: 768, colorScheme: 'light' },
  { name: 'dark', width: 1366, height: 768, colorScheme: 'dark' },
  { name: 'narrow', width: 390, height: 844, colorScheme: 'light' },
  { name: 'narrow-dark', width: 390, height: 844, colorScheme: 'dark' },
  { name: 'zoomed', width: 683, height: 384, scale: 2, colorScheme: 'light' },
];
const RULES = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
const CHROMIUM = process.env.CHROMIUM || '/usr/bin/chromium';

// What is wrong with an open page, a sentence each.
async function wrong(page) {
  await page.evaluate(axe);
  const found = await page.evaluate((rules) => axe.run(document, { runOnly: rules }), RULES);
  const sentences = found.violations.map((violation) => {
    const where = violation.nodes.slice(0, 3).map((node) => node.target.join(' ')).join('; ');
    return `${violation.impact}: ${violation.help} (${violation.id}), ${violation.nodes.length} times: ${where}`;
  });
  const [content, room] = await page.evaluate(() => {
    const root = document.documentElement;
    return [root.scrollWidth, root.clientWidth];
  });
  if (content > room) sentences.push(`sticks out sideways: ${content} px in ${room} px`);
  return sentences;
}

async function look(browser, file, view, pictures) {
  const { width, height, scale, colorScheme } = view;
  const context = await browser.newContext({
    viewport: { width, height },
    deviceScaleFactor: scale || 1,
    colorScheme,
    bypassCSP: true,
  });
  const page = await context.newPage();
  const address = pathToFileURL(file).href;
  const sentences = [];
  page.on('request', (request) => {
    if (request.url() !== address) sentences.push(`asks for ${request.url().slice(0, 80)}`);
  });
  await page.goto(address);
  sentences.push(...(await wrong(page)));
  if (pictures) {
    const name = path.join(pictures, `${path.basename(path.dirname(file))}-${path.basename(file, '.html')}`);
    await page.screenshot({ path: `${name}-${view.name}.png`, fullPage: true });
    if (view.name === 'light') await page.pdf({ path: `${name}.pdf`, preferCSSPageSize: true });
  }
  await context.close();
  return sentences;
}

async function main(words) {
  const pictures = words[0] === '--pictures' ? words.splice(0, 2)[1] : null;
  const options = { executablePath: CHROMIUM, args: ['--no-sandbox', '--disable-gpu'] };
  const browser = await chromium.launch(options);
  let bad = 0;
  for (const file of words.map((word) => path.resolve(word))) {
    for (const view of VIEWS) {
      for (const sentence of await look(browser, file, view, pictures)) {
        bad += 1;
        console.log(`${path.basename(file)}, ${view.name}: ${sentence}`);
      }
    }
  }
  await browser.close();
  console.log(`${words.length} pages in ${VIEWS.length} views: ${bad} findings`);
  return bad === 0 ? 0 : 1;
}

main(process.argv.slice(2)).then(
  (code) => process.exit(code),
  (error) => {
    console.error(error);
    process.exit(1);
  },
);
