// Shows the OpenAPI document on the reading page; nothing is fetched from elsewhere.
"use strict";
const place = document.getElementById("reference");
window.SwaggerUIBundle({
  url: place.dataset.document,
  domNode: place,
  deepLinking: true,
  presets: [window.SwaggerUIBundle.presets.apis],
  validatorUrl: null,
  requestInterceptor: (request) => {
    const cookie = document.cookie.match(/(?:^|; )csrftoken=([^;]+)/);
    if (cookie && !["GET", "HEAD"].includes(request.method)) {
      request.headers["X-CSRFToken"] = cookie[1];
    }
    return request;
  },
});
