/* Looking again at work in the background. Without this script the link on the page does it. */

setTimeout(() => location.reload(), 1500);
