'use strict';

/* The parts of the header that need scripts: colours and search, once for all pages. */
{% set controls %}
{% include "partials/palette.html" %}
<label class="md-header__button md-icon sb-search-button" for="__search">
  {% include ".icons/material/magnify.svg" %}
  <span>Search</span>
</label>
{% include "partials/search.html" %}
{% endset %}
document.currentScript.insertAdjacentHTML('beforebegin', {{ controls | tojson }});
if (!__md_get('__palette') && matchMedia('(prefers-color-scheme: dark)').matches)
  document.body.setAttribute('data-md-color-scheme', 'slate');
{% set chosen %}{% include "partials/javascripts/palette.html" %}{% endset %}
{{ chosen | replace("<script>", "") | replace("</script>", "") }}
